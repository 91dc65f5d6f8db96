package page_test

import (
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// everyPath is one request for each kind of route.
var everyPath = []string{"/", "/static/main.js", "/fonts/sans.ttf", "/choices", "/events", "/athletes", "/athletes/1?wide=110", "/athletes/1/months.html", "/athletes/1/gaps.html", "/takes", "/takes/" + noTake, "/takes/" + noTake + "/work",
	"/takes/" + noTake + "/frames/0?w=100", "/takes/" + noTake + "/frames/0/marks.json", "/nothing"}

var noTake = strings.Repeat("0", 64)

func TestKeyIsRequired(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir())
	for _, p := range everyPath {
		r := a.do("GET", p, nil)
		assert.Equal(t, http.StatusForbidden, r.status, p)
		assert.Contains(t, string(r.body), "the key to it is missing", p)
	}
	r := a.do("GET", "/?key=nearly", nil)
	assert.Equal(t, http.StatusForbidden, r.status)
	assert.Empty(t, r.header.Values("Set-Cookie"))

	r = a.do("GET", "/", nil, func(q *http.Request) { q.Header.Set("Accept", "text/html") })
	assert.Contains(t, r.header.Get("Content-Type"), "text/html", "a person is told in a page")
	assert.Contains(t, string(r.body), "ecart page")
	assert.NotContains(t, string(r.body), "static", "nothing of the sheet is given away")
}

func TestKeyIsExchangedForACookie(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir())
	r, err := a.client.Get(a.printed)
	require.NoError(t, err)
	defer r.Body.Close()
	assert.Equal(t, http.StatusOK, r.StatusCode)
	body, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	assert.Contains(t, string(body), `content="0; url=/"`, "the key does not stay in the address")
	require.Len(t, r.Cookies(), 1)
	c := r.Cookies()[0]
	assert.True(t, c.HttpOnly)
	assert.Equal(t, http.SameSiteStrictMode, c.SameSite)
	u, err := url.Parse(a.printed)
	require.NoError(t, err)
	assert.NotEqual(t, u.Query().Get("key"), c.Value, "the cookie is not the key")
	assert.Equal(t, "127.0.0.1", u.Hostname(), "loopback and nothing else")
}

func TestForgedRequestsAreRefused(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir()).enter()
	host := strings.TrimPrefix(a.base, "http://")
	_, port, _ := strings.Cut(host, ":")
	for _, c := range []struct {
		name   string
		method string
		change func(*http.Request)
		status int
	}{
		{"another host", "GET", func(q *http.Request) { q.Host = "athletes.example" }, http.StatusMisdirectedRequest},
		{"another host at our port", "GET", func(q *http.Request) { q.Host = "athletes.example:" + port }, http.StatusMisdirectedRequest},
		{"another port", "GET", func(q *http.Request) { q.Host = "127.0.0.1:1" }, http.StatusMisdirectedRequest},
		{"no host that is ours", "GET", func(q *http.Request) { q.Host = "0.0.0.0:" + port }, http.StatusMisdirectedRequest},
		{"another origin", "GET", func(q *http.Request) { q.Header.Set("Origin", "http://athletes.example") }, http.StatusForbidden},
		{"no origin where something changes", "POST", func(q *http.Request) { q.Header.Del("Origin") }, http.StatusForbidden},
		{"a hidden origin", "POST", func(q *http.Request) { q.Header.Set("Origin", "null") }, http.StatusForbidden},
		{"our host by its other name", "POST", func(q *http.Request) { q.Header.Set("Origin", "http://localhost:"+port) }, http.StatusForbidden},
		{"https", "POST", func(q *http.Request) { q.Header.Set("Origin", "https://"+host) }, http.StatusForbidden},
		{"set off by another site", "GET", func(q *http.Request) { q.Header.Set("Sec-Fetch-Site", "cross-site") }, http.StatusForbidden},
		{"set off by another port", "GET", func(q *http.Request) { q.Header.Set("Sec-Fetch-Site", "same-site") }, http.StatusForbidden},
	} {
		r := a.do(c.method, "/takes", strings.NewReader(""), c.change)
		assert.Equal(t, c.status, r.status, c.name)
		assert.NotContains(t, string(r.body), "takes\":", c.name)
	}
	assert.Equal(t, http.StatusOK, a.do("GET", "/takes", nil).status, "and ours is not")
}

func TestPolicyForbidsOtherSources(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir()).enter()
	for _, p := range everyPath {
		if p == "/events" {
			continue // does not end
		}
		h := a.do("GET", p, nil).header
		policy := h.Get("Content-Security-Policy")
		assert.True(t, strings.HasPrefix(policy, "default-src 'none';"), p)
		for _, never := range []string{"unsafe", "http:", "https:", "*", "data:"} {
			assert.NotContains(t, policy, never, p)
		}
		assert.Equal(t, "nosniff", h.Get("X-Content-Type-Options"), p)
		assert.Empty(t, h.Get("Access-Control-Allow-Origin"), p)
	}
}

func TestNothingFromTheBrowserIsAPath(t *testing.T) {
	t.Parallel()
	outside := t.TempDir()
	secret := filepath.Join(outside, "secret")
	require.NoError(t, os.WriteFile(secret, []byte("of nobody's business"), 0o600))
	data := filepath.Join(outside, "data")
	a := start(t, data).enter()
	up := []string{"..", "../..", "..%2f..%2fsecret", "%2e%2e", "%2e%2e%2fsecret", "..%5c..%5csecret", "..%00", url.PathEscape(secret), "." + noTake[1:], noTake + "%2f..%2f..%2fsecret"}
	for _, id := range up {
		for _, p := range []string{"/takes/" + id, "/takes/" + id + "/work", "/takes/" + id + "/thumb", "/takes/" + id + "/frames/0?w=100",
			"/takes/" + noTake + "/frames/" + id, "/static/" + id, "/fonts/" + id, "/events?take=" + id} {
			r := a.do("GET", p, nil)
			assert.Contains(t, []int{http.StatusNotFound, http.StatusBadRequest, http.StatusOK}, r.status, p)
			assert.NotContains(t, string(r.body), "nobody's business", p)
			assert.NotContains(t, string(r.body), outside, p)
			if r.status == http.StatusOK { // the path was cleaned to the page's own
				assert.Contains(t, []string{"text/html; charset=utf-8", "application/json; charset=utf-8"}, r.header.Get("Content-Type"), p)
			}
		}
		r := a.do("DELETE", "/takes/"+id, nil)
		assert.Contains(t, []int{http.StatusNotFound, http.StatusMethodNotAllowed, http.StatusForbidden}, r.status, id)
	}
	require.FileExists(t, secret)

	clip, err := os.ReadFile(demoFile(t))
	require.NoError(t, err)
	for _, name := range []string{"../../../secret", `..\..\secret`, secret, "..", "a/../../b.mp4", "\x00x"} {
		r := a.do("POST", "/takes?name="+url.QueryEscape(name), strings.NewReader(string(clip)))
		require.Equal(t, http.StatusCreated, r.status, "%q: %s", name, r.body)
	}
	list := string(a.do("GET", "/takes", nil).body)
	assert.NotContains(t, list, "..")
	assert.NotContains(t, list, "/")
	left, err := os.ReadDir(outside)
	require.NoError(t, err)
	assert.Len(t, left, 2, "nothing was written beside the data folder")
	in, err := os.ReadDir(filepath.Join(data, "takes"))
	require.NoError(t, err)
	require.Len(t, in, 1, "the same bytes are one take")
	assert.Regexp(t, "^[0-9a-f]{64}$", in[0].Name())
}

func TestOtherUsersCannotRead(t *testing.T) {
	t.Parallel()
	data := t.TempDir() + "/data"
	a := start(t, data).enter()
	clip, err := os.ReadFile(demoFile(t))
	require.NoError(t, err)
	require.Equal(t, http.StatusCreated, a.do("POST", "/takes?name=leap.mp4", strings.NewReader(string(clip))).status)
	require.NoError(t, filepath.WalkDir(data, func(p string, d os.DirEntry, err error) error {
		require.NoError(t, err)
		i, err := d.Info()
		require.NoError(t, err)
		assert.Zero(t, i.Mode().Perm()&0o077, p)
		return nil
	}))
}
