//go:build goolm

package matrix

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"maunium.net/go/mautrix"
	"maunium.net/go/mautrix/id"

	"weftroom/adapters/matrix/matrixtest"
)

// devicesOf lists the devices of an account, and which of them it vouches for.
func devicesOf(t *testing.T, p *matrixtest.Student, user id.UserID) map[id.DeviceID]bool {
	t.Helper()
	got, err := p.Client.QueryKeys(t.Context(), &mautrix.ReqQueryKeys{DeviceKeys: map[id.UserID]mautrix.DeviceIDList{user: {}}})
	if err != nil {
		t.Fatal(err)
	}
	keys := got.SelfSigningKeys[user]
	self := keys.FirstKey()
	out := map[id.DeviceID]bool{}
	for device, keys := range got.DeviceKeys[user] {
		out[device] = self != "" && keys.Signatures[user][id.NewKeyID(id.KeyAlgorithmEd25519, self.String())] != ""
	}
	return out
}

// TestLoginOnce runs three times: there is one device, which its account vouches
// for, and the recovery key was shown once.
func TestLoginOnce(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	ada := s.Student(t, "ada")
	for range 3 {
		d.up(echoes)
		d.stop()
		d.settings.Password = "" // it is not needed again
	}
	devices := devicesOf(t, ada, d.account.ID)
	if len(devices) != 1 {
		t.Errorf("devices: %v", devices)
	}
	for device, signed := range devices {
		if !signed {
			t.Errorf("%s is not signed", device)
		}
	}
	if len(d.recovery) != 1 || len(d.recovery[0]) < 40 {
		t.Errorf("%d recovery keys were shown", len(d.recovery))
	}
	for _, name := range []string{keysFile, seenFile, pickleFile} {
		info, err := os.Stat(filepath.Join(d.settings.Keys, name))
		if err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, %v", name, info.Mode(), err)
		}
	}
	if _, err := os.Stat(filepath.Join(d.settings.Keys, recoveryFile)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the recovery key is still there: %v", err)
	}
}

// TestNewDevice loses the folder of keys: the new device needs the recovery key,
// and is vouched for with it.
func TestNewDevice(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	ada := s.Student(t, "ada")
	d.up(echoes)
	room := class(t, ada, d, true)
	d.stop()
	d.settings.Keys = t.TempDir()
	wantExplained(t, d, "matrix.recovery")
	d.settings.Keys, d.settings.Recovery = t.TempDir(), "EsTc 1234 5678 not a key"
	wantExplained(t, d, "the recovery key does not open")
	d.settings.Keys, d.settings.Recovery = t.TempDir(), d.recovery[0]
	d.up(echoes)
	client, err := d.chat.client(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if !devicesOf(t, ada, d.account.ID)[client.DeviceID] {
		t.Error("the new device is not signed")
	}
	ada.Devices(t, d.account.ID) // or she writes for the lost device alone
	ada.Say(t, room, "!hello")
	wantOnce(t, ada, room, "you said hello")
	if len(d.recovery) != 1 {
		t.Errorf("%d recovery keys were shown", len(d.recovery))
	}
}

// TestNewRecoveryKey loses both the folder and the recovery key, and asks for a new one.
func TestNewRecoveryKey(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	d.up(echoes)
	d.stop()
	d.settings.Keys, d.settings.Recovery = t.TempDir(), recoverAnew
	d.up(echoes)
	if len(d.recovery) != 2 || d.recovery[0] == d.recovery[1] {
		t.Errorf("%d recovery keys were shown", len(d.recovery))
	}
}

// TestBrokenFirstStart breaks the first start off when the server has the
// signatures, and before the recovery key was shown: it is shown at the next.
func TestBrokenFirstStart(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	proxy := s.Proxy(t)
	d.settings.Homeserver = proxy.URL
	proxy.Judge(func(r *http.Request) matrixtest.Fate {
		if strings.HasSuffix(r.URL.Path, "/keys/signatures/upload") {
			return matrixtest.Cut
		}
		return matrixtest.Pass
	}, nil)
	chat, err := New(d.settings, d.options)
	if err != nil {
		t.Fatal(err)
	}
	if l, err := chat.open(t.Context(), answers(echoes)); err == nil {
		l.close()
		t.Fatal("no error, though the connection broke")
	}
	if len(d.recovery) != 0 {
		t.Fatal("the recovery key was shown too early")
	}
	proxy.Judge(nil, nil)
	d.up(echoes)
	if len(d.recovery) != 1 {
		t.Errorf("%d recovery keys were shown", len(d.recovery))
	}
	ada := s.Student(t, "ada")
	for device, signed := range devicesOf(t, ada, d.account.ID) {
		if !signed {
			t.Errorf("%s is not signed", device)
		}
	}
}

// wantExplained runs a bot that cannot begin, and holds that its error names what
// is wrong and holds no secret.
func wantExplained(t *testing.T, d *device, want string) {
	t.Helper()
	chat, err := New(d.settings, d.options)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), matrixtest.Patience)
	defer cancel()
	err = chat.Run(ctx, answers(echoes))
	if err == nil {
		t.Fatalf("it ran, and should have said %q", want)
	}
	if !strings.Contains(err.Error(), want) {
		t.Errorf("it says %q, and not %q", err, want)
	}
	if text := err.Error(); strings.Contains(text, "syt_") || strings.Contains(text, "http://") ||
		d.settings.Password != "" && strings.Contains(text, d.settings.Password) || strings.Contains(text, "\n") {
		t.Errorf("too much is said: %q", text)
	}
}

func TestStartFailures(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	noMatrix := httptest.NewServer(http.NotFoundHandler())
	t.Cleanup(noMatrix.Close)
	for _, c := range []struct {
		name string
		run  bool // it has run before
		harm func(t *testing.T, d *device)
		want string
	}{
		{"no password", false, func(_ *testing.T, d *device) { d.settings.Password = "" }, "needs matrix.password"},
		{"a wrong password", false, func(_ *testing.T, d *device) { d.settings.Password = "not the password" }, "check matrix.user and matrix.password"},
		{"no server", false, func(_ *testing.T, d *device) { d.settings.Homeserver = "http://127.0.0.1:1" }, "cannot be reached"},
		{"no Matrix server", false, func(_ *testing.T, d *device) { d.settings.Homeserver = noMatrix.URL }, "no Matrix server"},
		{"a pickle key that is lost", true, func(t *testing.T, d *device) {
			if err := os.Remove(filepath.Join(d.settings.Keys, pickleFile)); err != nil {
				t.Fatal(err)
			}
		}, "is missing"},
		{"a wrong pickle key", true, func(t *testing.T, d *device) {
			if err := writeSynced(filepath.Join(d.settings.Keys, pickleFile), strings.Repeat("0", 64)); err != nil {
				t.Fatal(err)
			}
		}, "does not open"},
		{"lost keys, token kept", true, func(t *testing.T, d *device) {
			db, err := openKeys(d.settings.Keys)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := db.Exec(t.Context(), "DELETE FROM crypto_account"); err != nil {
				t.Fatal(err)
			}
			if err := db.Close(); err != nil {
				t.Fatal(err)
			}
		}, "keys of this device that are not in the folder"},
		{"logged out elsewhere", true, func(t *testing.T, d *device) { logout(t, d) }, "does not know the login any more"},
		{"another account", true, func(t *testing.T, d *device) { d.settings.User = string(s.Account(t, "other").ID) }, "another account than matrix.user"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			d := newDevice(t, s)
			if c.run {
				d.up(echoes)
				d.stop()
			}
			c.harm(t, d)
			wantExplained(t, d, c.want)
		})
	}
}

func logout(t *testing.T, d *device) {
	t.Helper()
	chat, err := New(d.settings, d.options)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := chat.keptAccount(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	client, err := chat.newClient(kept)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := client.Logout(t.Context()); err != nil {
		t.Fatal(err)
	}
}

// TestLoggedOutWhileRunning ends the run with an explanation.
func TestLoggedOutWhileRunning(t *testing.T) {
	t.Parallel()
	d := newDevice(t, matrixtest.Shared(t))
	d.up(echoes)
	logout(t, d)
	err := <-d.ended
	d.ended <- nil
	if err == nil || !strings.Contains(err.Error(), "does not know the login any more") {
		t.Errorf("got %v", err)
	}
}

// TestTwoProcesses runs a second one with the same device.
func TestTwoProcesses(t *testing.T) {
	t.Parallel()
	d := newDevice(t, matrixtest.Shared(t))
	d.up(echoes)
	wantExplained(t, d, "another process works with the folder")
}

func TestCheck(t *testing.T) {
	t.Parallel()
	s := matrixtest.Shared(t)
	d := newDevice(t, s)
	check := func(want string) {
		t.Helper()
		chat, err := New(d.settings, d.options)
		if err != nil {
			t.Fatal(err)
		}
		err = chat.Check(t.Context())
		if want == "" && err != nil || want != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
	check("")
	if entries, err := os.ReadDir(d.settings.Keys); err != nil || len(entries) > 0 {
		t.Errorf("it made %v, %v", entries, err)
	}
	d.settings.Password = "not the password"
	check("check matrix.user and matrix.password")
	d.settings.Password = d.account.Password
	d.up(echoes)
	d.stop()
	check("") // with the login that is kept, and the password
	d.settings.Recovery = d.recovery[0]
	check("")
	d.settings.Password = ""
	check("") // the recovery key with the login that is kept
	d.settings.Recovery = "EsTb 1234 nobody ever saw that"
	check("the recovery key does not open")
	d.settings.Password, d.settings.Recovery = "not the password", ""
	check("check matrix.user and matrix.password")
	d.settings.Password = ""
	check("")
	ada := s.Student(t, "ada")
	if devices := devicesOf(t, ada, d.account.ID); len(devices) != 1 {
		t.Errorf("it left devices: %v", devices)
	}
	logout(t, d)
	check("does not know the login any more")
}
