package storetest

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// server is the one PostgreSQL of a test process, started at first need. It
// lives in a temporary folder, listens on a socket in that folder alone, and
// ends with the process, however that ends.
var server struct {
	once   sync.Once
	dir    string
	err    error
	number atomic.Int64
	hold   *os.File // the server lives as long as this end of a pipe is open
}

// Postgres gives the URL of a fresh, empty PostgreSQL database, which is dropped
// when the test ends. Without an installed PostgreSQL the test is skipped.
func Postgres(t testing.TB) string {
	t.Helper()
	server.once.Do(func() { server.dir, server.err = startServer() })
	if errors.Is(server.err, errNotInstalled) {
		t.Skipf("SKIP, NOT TESTED ON POSTGRESQL: %v", server.err)
	}
	if server.err != nil {
		t.Fatalf("PostgreSQL for the tests does not start: %v", server.err)
	}
	name := fmt.Sprintf("t%d", server.number.Add(1))
	administer(t, "CREATE DATABASE "+name)
	t.Cleanup(func() { administer(t, "DROP DATABASE "+name+" WITH (FORCE)") })
	return databaseURL(name)
}

func databaseURL(name string) string {
	q := url.Values{"host": {server.dir}, "user": {"weftroom"}}
	return "postgres:///" + name + "?" + q.Encode()
}

func administer(t testing.TB, statement string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	c, err := pgx.Connect(ctx, databaseURL("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(ctx)
	if _, err := c.Exec(ctx, statement); err != nil {
		t.Fatal(err)
	}
}

var errNotInstalled = errors.New("no PostgreSQL server is installed (Debian: apt-get install postgresql)")

// supervise makes the data folder, runs the server in it, and waits until
// standard input ends, which it does when the test process is gone. $1 is the
// folder of PostgreSQL's programs, $2 the temporary folder.
const supervise = `
"$1/initdb" -D "$2/data" -U weftroom -A trust -E UTF8 --locale=C.UTF-8 --no-sync >"$2/log" 2>&1 || { touch "$2/failed"; read gone; rm -rf "$2"; exit 1; }
"$1/postgres" -D "$2/data" -k "$2" -c listen_addresses= -c fsync=off -c max_connections=200 >>"$2/log" 2>&1 &
read gone
kill -QUIT $!
wait $!
rm -rf "$2"
`

func startServer() (dir string, err error) {
	programs, err := newestPrograms()
	if err != nil {
		return "", err
	}
	// A socket's path may hold some hundred bytes, so not under the folder of a test.
	dir, err = os.MkdirTemp("", "weftroom-pg-")
	if err != nil {
		return "", err
	}
	c := exec.Command("/bin/sh", "-c", supervise, "sh", programs, dir)
	c.Dir = dir
	if err := asServerUser(c, dir); err != nil {
		return "", errors.Join(err, os.RemoveAll(dir))
	}
	ours, theirs, err := os.Pipe()
	if err != nil {
		return "", errors.Join(err, os.RemoveAll(dir))
	}
	c.Stdin = ours
	err = c.Start()
	ours.Close()
	if err != nil {
		theirs.Close()
		return "", errors.Join(err, os.RemoveAll(dir))
	}
	server.hold = theirs
	go c.Wait() // ends with the process
	return dir, waitFor(dir)
}

func newestPrograms() (string, error) {
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if len(found) > 0 {
		return filepath.Dir(found[len(found)-1]), nil
	}
	if path, err := exec.LookPath("initdb"); err == nil {
		return filepath.Dir(path), nil
	}
	return "", errNotInstalled
}

func waitFor(dir string) error {
	server.dir = dir
	var last error
	for range 2400 { // two minutes, on a machine that has much else to do
		if _, err := os.Stat(filepath.Join(dir, "failed")); err == nil {
			break
		}
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		c, err := pgx.Connect(ctx, databaseURL("postgres"))
		if err == nil {
			c.Close(ctx)
			cancel()
			return nil
		}
		cancel()
		last = err
		time.Sleep(50 * time.Millisecond)
	}
	log, _ := os.ReadFile(filepath.Join(dir, "log"))
	return fmt.Errorf("%w\n%s", last, log)
}
