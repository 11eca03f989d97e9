package matrix

import (
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"go.mau.fi/util/dbutil"
	"maunium.net/go/mautrix/id"
)

// account is the login that is kept.
type account struct {
	User   id.UserID
	Device id.DeviceID
	Token  string
}

const accountSchema = `CREATE TABLE IF NOT EXISTS weftroom_account (
	one INTEGER PRIMARY KEY CHECK (one = 1), user TEXT NOT NULL, device TEXT NOT NULL, token TEXT NOT NULL)`

// loadAccount gives the login that is kept, the zero account when there is none.
func loadAccount(ctx context.Context, db *dbutil.Database) (a account, err error) {
	if _, err := db.Exec(ctx, accountSchema); err != nil {
		return account{}, err
	}
	err = db.QueryRow(ctx, "SELECT user, device, token FROM weftroom_account").Scan(&a.User, &a.Device, &a.Token)
	if errors.Is(err, sql.ErrNoRows) {
		return account{}, nil
	}
	return a, err
}

func saveAccount(ctx context.Context, db *dbutil.Database, a account) error {
	_, err := db.Exec(ctx, `INSERT INTO weftroom_account (one, user, device, token) VALUES (1, $1, $2, $3)
		ON CONFLICT (one) DO UPDATE SET user = excluded.user, device = excluded.device, token = excluded.token`,
		string(a.User), string(a.Device), a.Token)
	return err
}

// pickleKey is what the keys in keys.db are sealed with; it is made at the first
// start. fresh tells that there is nothing yet that it would have to open.
func pickleKey(dir string, fresh bool) ([]byte, error) {
	path := filepath.Join(dir, pickleFile)
	raw, err := os.ReadFile(path)
	switch {
	case err == nil && len(strings.TrimSpace(string(raw))) == 64:
		return []byte(strings.TrimSpace(string(raw))), nil
	case err == nil:
		return nil, fmt.Errorf("%s is damaged; bring it back from where the folder was kept, or move the whole folder away and start as a new device with matrix.password and matrix.recovery", path)
	case !errors.Is(err, fs.ErrNotExist):
		return nil, err
	case !fresh:
		return nil, fmt.Errorf("%s is missing, and without it %s cannot be opened; bring it back, or move the whole folder away and start as a new device with matrix.password and matrix.recovery", path, keysFile)
	}
	key := make([]byte, 32)
	_, _ = rand.Read(key) // never fails: crypto/rand ends the process instead
	text := hex.EncodeToString(key)
	return []byte(text), writeSynced(path, text)
}

// writeSynced writes a file for our eyes only, and has it on the disk.
func writeSynced(path, text string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_WRONLY|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = f.WriteString(text + "\n")
	return errors.Join(err, f.Sync(), f.Close())
}
