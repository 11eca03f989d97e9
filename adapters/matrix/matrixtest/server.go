// Package matrixtest gives tests a real homeserver on loopback, and people who
// use it with a client of their own.
//
// The homeserver is dendrite, which `make tools` builds into the user's cache.
// Each one that is started has its files in a temporary folder and ends with the
// test, or with the process that began it, however that ends.
package matrixtest

import (
	"bufio"
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha1"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	mathrand "math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"maunium.net/go/mautrix/id"
)

// ToolsVariable names the folder of the homeserver's programs when it is not the
// one in the user's cache.
const ToolsVariable = "WEFTROOM_TOOLS"

// Patience is how long a single thing may take before a test gives up on it. A
// homeserver on a busy machine has taken more than half of it to let somebody in.
const Patience = time.Minute

// Server is a homeserver. Its users are @name:localhost.
type Server struct {
	URL    string
	dir    string
	port   int
	tools  string
	secret string
	config string

	mu    sync.Mutex
	stdin io.WriteCloser
	cmd   *exec.Cmd
	pid   int
	log   *os.File
}

// Tools is the folder of the homeserver's programs, and whether they are there.
func Tools() (dir string, ok bool) {
	dir = os.Getenv(ToolsVariable)
	if dir == "" {
		cache, err := os.UserCacheDir()
		if err != nil {
			return "", false
		}
		dir = filepath.Join(cache, "weftroom", "bin")
	}
	for _, name := range []string{"dendrite", "generate-keys"} {
		if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
			return dir, false
		}
	}
	return dir, true
}

// Start starts a homeserver that ends with the test. Where the programs are not
// there the test is skipped.
func Start(t testing.TB) *Server {
	t.Helper()
	dir, err := folder()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	s := prepare(t, dir)
	t.Cleanup(s.stop)
	if err := s.up(); err != nil {
		t.Fatal(err)
	}
	return s
}

var shared struct {
	once sync.Once
	dir  string
	s    *Server
	err  error
}

// Shared is one homeserver for all tests of a package, who need not mind each
// other since each has users and rooms of its own. The package's TestMain must
// call Main.
func Shared(t testing.TB) *Server {
	t.Helper()
	if _, ok := Tools(); !ok {
		skip(t)
	}
	shared.once.Do(func() {
		if shared.dir, shared.err = folder(); shared.err == nil {
			shared.s = prepare(t, shared.dir)
			shared.err = shared.s.up()
		}
	})
	if shared.err != nil || shared.s == nil {
		t.Fatalf("the homeserver of the tests did not start: %v", shared.err)
	}
	return shared.s
}

// Main runs the tests of a package and ends its shared homeserver.
func Main(m *testing.M) int {
	defer func() {
		if shared.s != nil {
			shared.s.stop()
		}
		if shared.dir != "" {
			os.RemoveAll(shared.dir)
		}
	}()
	return m.Run()
}

func skip(t testing.TB) {
	t.Helper()
	dir, _ := Tools()
	t.Skipf("no dendrite in %s; make tools builds it", filepath.Base(dir))
}

func prepare(t testing.TB, dir string) *Server {
	t.Helper()
	tools, ok := Tools()
	if !ok {
		skip(t)
	}
	s := &Server{dir: dir, tools: tools, secret: rand.Text()}
	s.config = filepath.Join(dir, "dendrite.yaml")
	if err := os.WriteFile(s.config, []byte(strings.ReplaceAll(settings, "SECRET", s.secret)), 0o600); err != nil {
		t.Fatal(err)
	}
	keys := exec.Command(filepath.Join(tools, "generate-keys"), "-private-key", "matrix_key.pem")
	keys.Dir = dir
	out, err := keys.CombinedOutput()
	if err != nil {
		t.Fatalf("generate-keys: %v\n%s", err, out)
	}
	if s.port, err = freePort(); err != nil {
		t.Fatal(err)
	}
	s.URL = fmt.Sprintf("http://127.0.0.1:%d", s.port)
	return s
}

// freePort is one that no connection gets by chance while the homeserver is down:
// systems take those from 32768 on.
func freePort() (port int, err error) {
	for range 100 {
		port = 12000 + mathrand.IntN(20000)
		var l net.Listener
		if l, err = net.Listen("tcp", fmt.Sprintf("127.0.0.1:%d", port)); err == nil {
			return port, l.Close()
		}
	}
	return 0, err
}

// settings are of a homeserver that speaks to no other and does not limit how
// often it is asked.
const settings = `version: 2
global:
  server_name: localhost
  private_key: matrix_key.pem
  disable_federation: true
  jetstream: {storage_path: js}
  cache: {max_size_estimated: 64mb}
client_api: {registration_shared_secret: SECRET, rate_limiting: {enabled: false}}
federation_api: {database: {connection_string: "file:federationapi.db"}}
key_server: {database: {connection_string: "file:keyserver.db"}}
media_api: {database: {connection_string: "file:mediaapi.db"}, base_path: media}
room_server: {database: {connection_string: "file:roomserver.db"}}
sync_api: {database: {connection_string: "file:syncapi.db"}}
user_api: {account_database: {connection_string: "file:userapi.db"}}
relay_api: {database: {connection_string: "file:relayapi.db"}}
mscs: {database: {connection_string: "file:mscs.db"}}
logging: [{type: std, level: warn}]
`

// guard runs the homeserver as long as somebody holds its standard input open,
// and says its process id.
const guard = `exec 3<&0; "$@" </dev/null >&2 & echo $!; cat <&3 >/dev/null; kill -9 $! 2>/dev/null`

// up starts the process and waits until it answers.
func (s *Server) up() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.upAt(s.port)
}

// upAt is up, at any port. The caller holds mu.
func (s *Server) upAt(port int) error {
	log, err := os.OpenFile(filepath.Join(s.dir, "dendrite.log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	s.log = log
	s.cmd = exec.Command("sh", "-c", guard, "sh", filepath.Join(s.tools, "dendrite"),
		"-config", s.config, "-http-bind-address", fmt.Sprintf("127.0.0.1:%d", port))
	s.cmd.Dir, s.cmd.Stderr = s.dir, log
	if s.stdin, err = s.cmd.StdinPipe(); err != nil {
		return err
	}
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := s.cmd.Start(); err != nil {
		return err
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		return fmt.Errorf("dendrite: %w", err)
	}
	if s.pid, err = strconv.Atoi(strings.TrimSpace(line)); err != nil {
		return err
	}
	return s.answers(port)
}

// answers waits until the homeserver does.
func (s *Server) answers(port int) error {
	for deadline := time.Now().Add(Patience); ; time.Sleep(20 * time.Millisecond) {
		got, err := http.Get(fmt.Sprintf("http://127.0.0.1:%d/_matrix/client/versions", port))
		if err == nil {
			got.Body.Close()
			if got.StatusCode == http.StatusOK {
				return nil
			}
		}
		if time.Now().After(deadline) {
			raw, _ := os.ReadFile(filepath.Join(s.dir, "dendrite.log"))
			return fmt.Errorf("dendrite does not answer: %w\n%s", err, raw)
		}
	}
}

// PID is the process of the homeserver, for who measures it.
func (s *Server) PID() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.pid
}

// Kill ends the homeserver as a power cut would.
func (s *Server) Kill(t testing.TB) {
	t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := syscall.Kill(s.pid, syscall.SIGKILL); err != nil {
		t.Errorf("dendrite had ended before: %v", err)
	}
	if err := s.untilEnded(); err != nil {
		t.Error(err)
	}
	s.down()
}

// Restart kills the homeserver and starts it again at the same address.
func (s *Server) Restart(t testing.TB) {
	t.Helper()
	s.Kill(t)
	s.Up(t)
}

// Up starts a homeserver that was killed. It is reached by its people when it
// has recovered.
func (s *Server) Up(t testing.TB) {
	t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.recover(); err != nil {
		t.Fatal(err)
	}
	if err := s.upAt(s.port); err != nil {
		t.Fatal(err)
	}
}

func (s *Server) stop() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.down()
}

// down ends the process. The caller holds mu.
func (s *Server) down() {
	if s.cmd == nil {
		return
	}
	s.stdin.Close()
	_ = s.cmd.Wait() // it was killed
	s.log.Close()
	s.cmd = nil
}

// Account is a user of the homeserver.
type Account struct {
	ID       id.UserID
	Password string
}

// Account registers a user whose name begins so.
func (s *Server) Account(t testing.TB, name string) Account {
	t.Helper()
	a, err := s.register(s.URL, name)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func (s *Server) register(url, name string) (Account, error) {
	a := Account{Password: rand.Text()}
	name = strings.ToLower(name + "-" + rand.Text()[:6])
	a.ID = id.NewUserID(name, "localhost")
	var nonce struct{ Nonce string }
	if err := call(url, http.MethodGet, nil, &nonce); err != nil {
		return a, err
	}
	mac := hmac.New(sha1.New, []byte(s.secret))
	fmt.Fprintf(mac, "%s\x00%s\x00%s\x00notadmin", nonce.Nonce, name, a.Password)
	request := map[string]any{"nonce": nonce.Nonce, "username": name, "password": a.Password, "mac": hex.EncodeToString(mac.Sum(nil)), "admin": false}
	return a, call(url, http.MethodPost, request, nil)
}

// call speaks with the interface that makes users for who knows the secret.
func call(url, method string, body, into any) error {
	raw, err := json.Marshal(body)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(context.Background(), Patience)
	defer cancel()
	q, err := http.NewRequestWithContext(ctx, method, url+"/_synapse/admin/v1/register", bytes.NewReader(raw))
	if err != nil {
		return err
	}
	got, err := http.DefaultClient.Do(q)
	if err != nil {
		return err
	}
	defer got.Body.Close()
	answer, err := io.ReadAll(got.Body)
	if err != nil {
		return err
	}
	if got.StatusCode != http.StatusOK {
		return errors.New("registering: " + string(answer))
	}
	if into == nil {
		return nil
	}
	return json.Unmarshal(answer, into)
}
