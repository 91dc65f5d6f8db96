package page_test

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/page/folder"
	"ecart/cmd/internal/trial/browsertest"
)

// program is the real ecart, built once for all tests of the package.
var program = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "ecart-page-test-")
	if err != nil {
		return "", err
	}
	path := filepath.Join(dir, "ecart")
	args := []string{"build", "-o", path}
	if os.Getenv("ECART_RACE") != "" { // with the race detector, which takes minutes to build
		args = append(args, "-race")
	}
	out, err := exec.Command("go", append(args, "ecart/cmd/ecart")...).CombinedOutput()
	if err != nil {
		return "", &exec.Error{Name: "go build: " + string(out), Err: err}
	}
	return path, nil
})

func TestMain(m *testing.M) {
	// The programs that are tested find nothing of this machine's user: no pose network, no journal, no rule books.
	home, err := os.MkdirTemp("", "ecart-home-")
	if err != nil {
		panic(err)
	}
	os.Setenv("XDG_DATA_HOME", filepath.Join(home, "data"))
	os.Setenv("XDG_CONFIG_HOME", filepath.Join(home, "config"))
	code := m.Run()
	browsertest.Close()
	os.RemoveAll(home)
	if path, err := program(); err == nil {
		os.RemoveAll(filepath.Dir(path))
	}
	os.Exit(code)
}

// app is a running `ecart page`.
type app struct {
	t       testing.TB
	data    string
	printed string // the address, with a key that serves once
	address string // the same until it was used, then ""
	base    string // http://127.0.0.1:port
	cmd     *exec.Cmd
	errs    *bytes.Buffer
	client  *http.Client
	script  string // that a window runs before the page's own
}

// lastPort is the last port that a server of a test was given. It begins below the ports from 32768 on that Linux gives
// to connections: one of these, found free, may be a connection's before the server listens.
var lastPort atomic.Int32

func init() { lastPort.Store(20000 + int32(os.Getpid()%100)*100) }

// freePort returns a port that nobody listens on, and that no other test of the package gets.
func freePort(t testing.TB) string {
	for range 1000 {
		port := strconv.Itoa(int(lastPort.Add(1)))
		if l, err := net.Listen("tcp4", "127.0.0.1:"+port); err == nil {
			require.NoError(t, l.Close())
			return port
		}
	}
	require.Fail(t, "no port is free")
	return ""
}

// start runs `ecart page` on a data folder, and on a port of its own if args
// name none: the usual port may be taken by the server of another test.
func start(t testing.TB, data string, args ...string) *app {
	path, err := program()
	require.NoError(t, err)
	if !slices.Contains(args, "--port") {
		args = append(args, "--port", freePort(t))
	}
	return startAs(t, data, exec.Command(path, append([]string{"page", "--no-open", "--data", data}, args...)...))
}

// demoLooks returns the small pictures of the demo's frames, as a server has made them.
func demoLooks(t testing.TB) []byte {
	looksOnce.Do(func() {
		path, err := program()
		require.NoError(t, err)
		data := t.TempDir()
		a := startAs(t, data, exec.Command(path, "page", "--no-open", "--data", data, "--port", freePort(t))).enter()
		defer a.stop()
		require.Equal(t, http.StatusCreated, a.do("POST", "/demo", nil).status)
		last := "/takes/" + demoID() + "/frames/89/look"
		require.Eventually(t, func() bool { return a.do("GET", last, nil).status == http.StatusOK }, browsertest.Patience, 20*time.Millisecond)
		made, err := os.ReadFile(filepath.Join(data, folder.LookDir, demoID()))
		require.NoError(t, err)
		looksMade = made
	})
	require.NotEmpty(t, looksMade, "the test that makes them failed")
	return looksMade
}

var (
	looksOnce sync.Once
	looksMade []byte
)

// demoID is the id of the demo's clip.
func demoID() string {
	clip, _ := demotake.Files()
	return fmt.Sprintf("%x", sha256.Sum256(clip))
}

// knowsDemo gives the server the small pictures of the demo, as if it had looked through it before: that takes longer
// than all else that most tests ask for. A server that has the demo already makes or has its own.
func (a *app) knowsDemo() {
	if _, err := os.Stat(filepath.Join(a.data, folder.AboutDir, demoID()+".json")); err == nil {
		return
	}
	require.NoError(a.t, os.WriteFile(filepath.Join(a.data, folder.LookDir, demoID()), demoLooks(a.t), 0o600))
}

func startAs(t testing.TB, data string, cmd *exec.Cmd) *app {
	a := &app{t: t, data: data, cmd: cmd, errs: &bytes.Buffer{}}
	cmd.Stderr = a.errs
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(a.stop)
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err, "ecart page printed no address: %s", a.errs)
	a.printed = strings.TrimSpace(line)
	a.address = a.printed
	u, err := url.Parse(a.printed)
	require.NoError(t, err)
	a.base = u.Scheme + "://" + u.Host
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	a.client = &http.Client{Jar: jar, Timeout: 30 * time.Second}
	return a
}

// stop ends the server as Ctrl-C does.
func (a *app) stop() {
	if a.cmd.ProcessState != nil {
		return
	}
	a.cmd.Process.Signal(syscall.SIGINT)
	done := make(chan struct{})
	go func() { a.cmd.Wait(); close(done) }()
	select {
	case <-done:
	case <-time.After(15 * time.Second):
		a.cmd.Process.Kill()
		a.t.Errorf("ecart page did not end within 15 s of being told to")
	}
}

// entrance returns an address that lets a browser in: the printed one, and later the one in the lock, which
// a second 'ecart page' on the folder prints.
func (a *app) entrance() string {
	if at := a.address; at != "" {
		a.address = ""
		return at
	}
	at, err := os.ReadFile(filepath.Join(a.data, "lock"))
	require.NoError(a.t, err)
	return strings.TrimSpace(string(at))
}

// enter exchanges the key for the cookie.
func (a *app) enter() *app {
	r, err := a.client.Get(a.entrance())
	require.NoError(a.t, err)
	r.Body.Close()
	require.Equal(a.t, http.StatusOK, r.StatusCode)
	return a
}

// answered is an answer of the server.
type answered struct {
	status int
	header http.Header
	body   []byte
}

// do sends a request as our own page does.
func (a *app) do(method, path string, body io.Reader, change ...func(*http.Request)) answered {
	req, err := http.NewRequest(method, a.base+path, body)
	require.NoError(a.t, err)
	req.Header.Set("Origin", a.base)
	for _, c := range change {
		c(req)
	}
	r, err := a.client.Do(req)
	require.NoError(a.t, err)
	defer r.Body.Close()
	data, err := io.ReadAll(r.Body)
	require.NoError(a.t, err)
	return answered{r.StatusCode, r.Header, data}
}

// demoFile writes the demo's clip to a file for the browser.
func demoFile(t testing.TB) string {
	clip, _ := demotake.Files()
	path := filepath.Join(t.TempDir(), demotake.Name)
	require.NoError(t, os.WriteFile(path, clip, 0o600))
	return path
}
