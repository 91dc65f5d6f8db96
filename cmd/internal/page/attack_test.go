package page_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Attacks take their seed from ECART_SEED (1 without it) and are repeated ECART_HARD times (else once); a
// failure names its seed.
func attack(t *testing.T) (r *rand.Rand, times int) {
	seed := uint64(1)
	if s := os.Getenv("ECART_SEED"); s != "" {
		n, err := strconv.ParseUint(s, 10, 64)
		require.NoError(t, err)
		seed = n
	}
	times = 1
	if s := os.Getenv("ECART_HARD"); s != "" {
		n, err := strconv.Atoi(s)
		require.NoError(t, err)
		times = max(1, n)
	}
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("again with: ECART_SEED=%d go test -run %s ./cmd/internal/page", seed, t.Name())
		}
	})
	return rand.New(rand.NewPCG(seed, 0)), times
}

// checkStderr checks that a server wrote neither a crash nor a race to standard error.
func (a *app) checkStderr(t testing.TB) {
	t.Helper()
	for _, word := range []string{"panic", "goroutine ", "DATA RACE", "SIGSEGV", "runtime error"} {
		assert.NotContains(t, a.errs.String(), word)
	}
}

// TestForeignRequests sends raw requests as from another site's page, under a host name that
// resolves to this machine, and from a program.
func TestForeignRequests(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir()).enter()
	id := a.upload("leap.mp4", demo())
	host := strings.TrimPrefix(a.base, "http://")
	_, port, _ := strings.Cut(host, ":")
	req, err := http.NewRequest("GET", a.base, nil)
	require.NoError(t, err)
	cookie := a.client.Jar.Cookies(req.URL)[0].String()
	for _, head := range []string{
		"GET /takes HTTP/1.1\r\nHost: athletes.example:" + port + "\r\nCookie: " + cookie, // a name that points here now
		"GET http://athletes.example/takes HTTP/1.1\r\nHost: " + host + "\r\nCookie: " + cookie,
		"GET /takes HTTP/1.1\r\nHost: " + host + ".\r\nCookie: " + cookie,
		"GET /takes HTTP/1.1\r\nHost: 127.0.0.1.:" + port + "\r\nCookie: " + cookie,
		"GET /takes HTTP/1.1\r\nHost: [::1]:" + port + "\r\nCookie: " + cookie,
		"GET /takes HTTP/1.1\r\nHost: 127.1:" + port + "\r\nCookie: " + cookie,
		"GET /takes HTTP/1.1\r\nHost: 2130706433:" + port + "\r\nCookie: " + cookie,
		"GET /takes HTTP/1.1\r\nHost: localhost.athletes.example:" + port + "\r\nCookie: " + cookie,
		"GET /takes HTTP/1.0\r\nCookie: " + cookie, // no host at all
		"GET /takes HTTP/1.1\r\nHost: " + host + "\r\nHost: athletes.example\r\nCookie: " + cookie,
		"GET /takes HTTP/1.1\r\nHost: " + host + "\r\nSec-Fetch-Site: cross-site\r\nCookie: " + cookie,
		"GET /takes HTTP/1.1\r\nHost: " + host + "\r\nSec-Fetch-Site: same-site\r\nCookie: " + cookie,
		"GET /takes HTTP/1.1\r\nHost: " + host + "\r\nOrigin: http://127.0.0.1:1\r\nCookie: " + cookie,
		"POST /demo HTTP/1.1\r\nHost: " + host + "\r\nOrigin: null\r\nContent-Length: 0\r\nCookie: " + cookie,
		"POST /demo HTTP/1.1\r\nHost: " + host + "\r\nContent-Length: 0\r\nCookie: " + cookie,
		"DELETE /takes/" + id + " HTTP/1.1\r\nHost: " + host + "\r\nOrigin: http://athletes.example\r\nCookie: " + cookie,
		"OPTIONS /takes HTTP/1.1\r\nHost: " + host + "\r\nOrigin: http://athletes.example\r\nAccess-Control-Request-Method: PUT\r\nCookie: " + cookie,
		"CONNECT athletes.example:443 HTTP/1.1\r\nHost: athletes.example:443\r\nCookie: " + cookie,
		"GET /takes HTTP/1.1\r\nHost: " + host + "\r\nCookie: ecart-" + port + "=" + strings.Repeat("A", 20000),
		"GET /?key=" + strings.Repeat("A", 30000) + " HTTP/1.1\r\nHost: " + host,
		"PRI * HTTP/2.0\r\n\r\nSM", "\x16\x03\x01\x02\x00\x01\x00", "\x00",
	} {
		c, err := net.Dial("tcp", host)
		require.NoError(t, err)
		require.NoError(t, c.SetDeadline(time.Now().Add(20*time.Second)))
		_, err = io.WriteString(c, head+"\r\nConnection: close\r\n\r\n")
		require.NoError(t, err)
		answer, _ := io.ReadAll(c)
		c.Close()
		assert.NotContains(t, string(answer), "leap.mp4", head)
		assert.NotContains(t, string(answer), "Access-Control-Allow", head)
		assert.NotRegexp(t, `^HTTP/1\.[01] 2`, string(answer), head)
	}
	assert.Equal(t, http.StatusOK, a.do("GET", "/takes/"+id, nil).status, "what is ours is still here")
	a.checkStderr(t)
}

// TestAThousandConnections opens connections that send nothing, half a request, or an endless body
// without a cookie: the page goes on for its owner, and closes all of them.
func TestAThousandConnections(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir()).enter()
	id := a.upload("leap.mp4", demo())
	host := strings.TrimPrefix(a.base, "http://")
	open := func() int {
		in, err := os.ReadDir(fmt.Sprintf("/proc/%d/fd", a.cmd.Process.Pid))
		require.NoError(t, err)
		return len(in)
	}
	before := open()
	var all []net.Conn
	for i := range 1000 {
		c, err := net.Dial("tcp", host)
		require.NoError(t, err, "connection %d", i)
		all = append(all, c)
		switch i % 4 {
		case 1:
			io.WriteString(c, "GET /takes HT")
		case 2:
			fmt.Fprintf(c, "POST /takes?name=x HTTP/1.1\r\nHost: %s\r\nOrigin: %s\r\nContent-Length: 1000000000\r\n\r\nftyp", host, a.base)
		case 3:
			fmt.Fprintf(c, "GET / HTTP/1.1\r\nHost: %s\r\n\r\n", host)
		}
	}
	began := time.Now()
	require.Equal(t, http.StatusOK, a.do("GET", "/takes/"+id+"/frames/5?w=320", nil).status)
	assert.Less(t, time.Since(began), 10*time.Second, "the owner waits for strangers")
	// connections that were answered, and those without a whole head, are closed by the server
	require.Eventually(t, func() bool { return open() < before+300 }, 60*time.Second, 200*time.Millisecond, "strangers keep their connections: %d before, %d now", before, open())
	for _, c := range all {
		c.Close()
	}
	require.Eventually(t, func() bool { return open() < before+20 }, 60*time.Second, 200*time.Millisecond)
	in, err := os.ReadDir(filepath.Join(a.data, "incoming"))
	require.NoError(t, err)
	assert.Empty(t, in)
	a.checkStderr(t)
}

// TestInterruptedUpload checks that an interrupted upload leaves nothing.
func TestInterruptedUpload(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir()).enter()
	host := strings.TrimPrefix(a.base, "http://")
	req, err := http.NewRequest("GET", a.base, nil)
	require.NoError(t, err)
	for _, sent := range []int{0, 1, 100_000} {
		c, err := net.Dial("tcp", host)
		require.NoError(t, err)
		fmt.Fprintf(c, "POST /takes?name=x HTTP/1.1\r\nHost: %s\r\nOrigin: %s\r\nCookie: %s\r\nContent-Length: 1000000\r\n\r\n", host, a.base, a.client.Jar.Cookies(req.URL)[0])
		c.Write(make([]byte, sent))
		time.Sleep(50 * time.Millisecond)
		c.Close()
	}
	require.Eventually(t, func() bool {
		in, err := os.ReadDir(filepath.Join(a.data, "incoming"))
		return err == nil && len(in) == 0
	}, 20*time.Second, 20*time.Millisecond)
	a.nothingLeft(t)
	a.checkStderr(t)
}

// TestKilledAtRandom kills the page at random moments while takes come and go and
// marks are stored. After the next start everything that was acknowledged is there, what was removed
// is not, and nothing half done is left.
func TestKilledAtRandom(t *testing.T) {
	r, times := attack(t)
	kills := 8 * times
	if testing.Short() {
		kills = 2
	}
	data := t.TempDir()
	type known struct {
		version int
		gone    bool
		sure    bool // no request is open that may or may not have been done
	}
	takes := map[string]*known{}
	for n := range kills {
		a := start(t, data)
		a.enter()
		for id, k := range takes {
			got := a.do("GET", "/takes/"+id+"/work", nil)
			if !k.sure {
				k.gone = got.status != http.StatusOK
			} else {
				require.Equal(t, k.gone, got.status != http.StatusOK, "kill %d: %s: %s", n, id, got.body)
			}
			if !k.gone {
				var w struct{ Version int }
				require.NoError(t, json.Unmarshal(got.body, &w))
				require.GreaterOrEqual(t, w.Version, k.version, "marks that were acknowledged are lost")
				k.version = w.Version
				require.Equal(t, http.StatusOK, a.do("GET", "/takes/"+id+"/frames/0?w=64", nil).status)
			}
			k.sure = true
		}
		for name := range inFolder(t, data) {
			part, file := filepath.Split(name)
			if part == "incoming/" {
				continue // the server is at work again
			}
			if m := regexp.MustCompile(`^[0-9a-f]{64}`).FindString(file); m != "" {
				require.NotNil(t, takes[m], "kill %d: %s is of a take that nobody knows", n, name)
				require.False(t, takes[m].gone, "kill %d: %s is of a take that was removed", n, name)
			}
		}
		var wg sync.WaitGroup
		var mu sync.Mutex
		until := time.Now().Add(time.Duration(50+r.IntN(600)) * time.Millisecond)
		for w := range 3 {
			rr := rand.New(rand.NewPCG(r.Uint64(), uint64(w)))
			wg.Go(func() {
				for i := 0; time.Now().Before(until.Add(time.Second)); i++ {
					clip := append(demo(), []byte(fmt.Sprint(n, w, i))...)
					id := idOfBytes(clip)
					mu.Lock()
					k := &known{}
					takes[id] = k
					mu.Unlock()
					if a.try("POST", "/takes?name=x.mp4", bytes.NewReader(clip)) != http.StatusCreated {
						return
					}
					for v := range 3 {
						if a.try("PUT", "/takes/"+id+"/work", strings.NewReader(workOn(43, v))) != http.StatusOK {
							return
						}
						k.version = v + 1
					}
					if rr.IntN(2) == 0 {
						if a.try("DELETE", "/takes/"+id, nil) != http.StatusNoContent {
							return
						}
						k.gone = true
					}
					k.sure = true
				}
			})
		}
		time.Sleep(time.Until(until))
		require.NoError(t, a.cmd.Process.Kill())
		a.cmd.Wait()
		wg.Wait()
		a.checkStderr(t)
	}
	assert.NotEmpty(t, takes)
}

// try sends a request as do does, and returns the status; 0 if no answer came. It may be called
// from any goroutine.
func (a *app) try(method, path string, body io.Reader) int {
	req, err := http.NewRequest(method, a.base+path, body)
	if err != nil {
		return 0
	}
	req.Header.Set("Origin", a.base)
	r, err := a.client.Do(req)
	if err != nil {
		return 0
	}
	defer r.Body.Close()
	io.Copy(io.Discard, r.Body)
	return r.StatusCode
}

func idOfBytes(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}
