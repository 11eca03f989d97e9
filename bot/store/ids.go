package store

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"

	"weftroom/bot"
	"weftroom/bot/class"
)

// letters leave out what is read as another: no 0 and o, no 1 and l.
const letters = "23456789abcdefghijkmnpqrstuvwxyz"

// newID is 40 bits of chance. Should two ever be the same, the database refuses
// the second and the transaction runs again with another.
func newID() class.ID {
	raw := make([]byte, 8)
	rand.Read(raw) // never fails
	for i, b := range raw {
		raw[i] = letters[int(b)%len(letters)]
	}
	return class.ID(raw)
}

// digest stands for an account where it must be known again but not named:
// half of its SHA-256.
func digest(a bot.Account) string {
	sum := sha256.Sum256([]byte(clean(a.Chat) + "\x00" + clean(a.User)))
	return hex.EncodeToString(sum[:16])
}
