package discord

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"time"

	"weftroom/bot"
)

// How long things are remembered.
const (
	keepButtons = 400 * 24 * time.Hour
	keepForms   = 24 * time.Hour // that nobody has sent yet
	keepPosts   = 60 * 24 * time.Hour
)

// notes keeps JSON in bot.Notes.
type notes struct{ bot.Notes }

// read fills into with a note's value, and tells whether there is one.
func (n notes) read(ctx context.Context, name string, into any) (bool, error) {
	note, err := n.Note(ctx, ChatName, name)
	if err != nil || note.Value == "" {
		return false, err
	}
	return true, json.Unmarshal([]byte(note.Value), into)
}

// write keeps a value. The zero time keeps it for good.
func (n notes) write(ctx context.Context, name, user string, value any, until time.Time) error {
	raw, err := json.Marshal(value)
	if err != nil {
		return err
	}
	return n.PutNote(ctx, ChatName, bot.Note{Name: name, User: user, Value: string(raw), Until: until})
}

// digest is a short name for texts. The same texts have the same.
func digest(texts ...string) string {
	h := sha256.New()
	for _, t := range texts {
		_, _ = h.Write([]byte(t)) // a hash takes everything
		_, _ = h.Write([]byte{0})
	}
	return base64.RawURLEncoding.EncodeToString(h.Sum(nil)[:15]) // 20 characters
}
