package page_test

import (
	"bytes"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/trial/browsertest"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// opener puts a program called xdg-open before all others, which writes its arguments and
// the file it is given into folder, and stays for a while as a browser's starter does.
func opener(t *testing.T) (folder, path string) {
	folder = t.TempDir()
	text := fmt.Sprintf("#!/bin/sh\nprintf '%%s\\n' \"$@\" >%q/args\ncp \"$1\" %q/page && mv %q/page %q/opened\nsleep 20\n", folder, folder, folder, folder)
	require.NoError(t, os.WriteFile(filepath.Join(folder, "xdg-open"), []byte(text), 0o700))
	return folder, folder + ":" + os.Getenv("PATH")
}

// startOpening starts 'ecart page' with that program as the desktop's.
func startOpening(t *testing.T, data string) (a *app, folder string) {
	path, err := program()
	require.NoError(t, err)
	folder, search := opener(t)
	cmd := exec.Command(path, "page", "--data", data, "--port", freePort(t))
	cmd.Env = append(os.Environ(), "PATH="+search)
	a = startAs(t, data, cmd)
	require.Eventually(t, func() bool { _, err := os.Stat(filepath.Join(folder, "opened")); return err == nil }, 30*time.Second, 20*time.Millisecond)
	return a, folder
}

// TestNoKeyAmongArguments reads the arguments of every process of the machine, as every
// user can.
func TestNoKeyAmongArguments(t *testing.T) {
	t.Parallel()
	a, folder := startOpening(t, filepath.Join(t.TempDir(), "data"))
	found := 0
	lines, err := filepath.Glob("/proc/[0-9]*/cmdline")
	require.NoError(t, err)
	for _, p := range lines {
		text, _ := os.ReadFile(p) // some have ended by now
		assert.NotContains(t, string(text), "?key=", p)
		if bytes.Contains(text, []byte("xdg-open")) && bytes.Contains(text, []byte(a.data)) {
			found++
		}
	}
	assert.NotZero(t, found, "the opener was not seen running, so that nothing was proved")

	args, err := os.ReadFile(filepath.Join(folder, "args"))
	require.NoError(t, err)
	file := strings.TrimSpace(string(args))
	i, err := os.Stat(file)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), i.Mode().Perm())
	i, err = os.Stat(filepath.Dir(file))
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o700), i.Mode().Perm())

	// The file lets one browser in, once, and is deleted then.
	page, err := os.ReadFile(filepath.Join(folder, "opened"))
	require.NoError(t, err)
	_, rest, ok := strings.Cut(string(page), "url=")
	require.True(t, ok, "%s", page)
	a.address, _, _ = strings.Cut(rest, `"`)
	first := a.address
	assert.NotEqual(t, a.printed, first, "the printed address has a key of its own")
	require.Equal(t, http.StatusOK, a.enter().do("GET", "/takes", nil).status)
	assert.NoFileExists(t, file)
	a.client.Jar = newJar(t)
	r, err := a.client.Get(first)
	require.NoError(t, err)
	r.Body.Close()
	assert.Equal(t, http.StatusForbidden, r.StatusCode)
	a.address = a.printed
	a.enter()
}

// TestTheFileOpensThePageInABrowser opens the file as a desktop does. For a browser a link from a file
// to the page is one from another site, which each treats in its own way.
func TestTheFileOpensThePageInABrowser(t *testing.T) {
	t.Parallel()
	a, folder := startOpening(t, filepath.Join(t.TempDir(), "data"))
	args, err := os.ReadFile(filepath.Join(folder, "args"))
	require.NoError(t, err)
	a.address = "file://" + strings.TrimSpace(string(args))
	w := a.open(laptop)
	assert.Equal(t, a.base+"/", js[string](w, `location.href`), "no key stays in the address")
	w.click(w.middle("#demo"))
	w.until(`document.getElementById("print").dataset.sharp === "yes"`)
}

// TestAnotherUserOfTheMachine sends requests as another local user: their programs can read
// /proc and reach the port, and get nothing.
func TestAnotherUserOfTheMachine(t *testing.T) {
	t.Parallel()
	nobody, err := user.Lookup("nobody")
	require.NoError(t, err)
	data := filepath.Join(t.TempDir(), "data")
	a, folder := startOpening(t, data)
	id := a.enter().upload("leap.mp4", demo())
	args, err := os.ReadFile(filepath.Join(folder, "args"))
	require.NoError(t, err)
	file := strings.TrimSpace(string(args))
	if os.Geteuid() != 0 {
		t.Log("NOT RUN AS ANOTHER USER: that takes the right to become one; only the permissions are looked at")
		for _, p := range []string{data, file, filepath.Join(data, "lock"), filepath.Join(data, "takes", id)} {
			i, err := os.Stat(p)
			require.NoError(t, err)
			assert.Zero(t, i.Mode().Perm()&0o077, p)
		}
		return
	}
	uid, err := strconv.Atoi(nobody.Uid)
	require.NoError(t, err)
	gid, err := strconv.Atoi(nobody.Gid)
	require.NoError(t, err)
	// the way to the data folder is open to everybody: only its own permissions count
	for p := filepath.Dir(data); p != os.TempDir() && len(p) > 1; p = filepath.Dir(p) {
		require.NoError(t, os.Chmod(p, 0o755))
	}
	as := func(shell string) string {
		cmd := exec.Command("sh", "-c", shell)
		cmd.Dir = "/"
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}
		out, _ := cmd.CombinedOutput()
		return string(out)
	}
	require.Contains(t, as("id -un"), "nobody")
	seen := as("cat /proc/[0-9]*/cmdline /proc/[0-9]*/environ 2>/dev/null | tr '\\0' '\\n'")
	assert.Contains(t, seen, file, "the arguments are seen, or nothing is proved")
	assert.NotContains(t, seen, "key=")
	for _, p := range []string{file, filepath.Join(data, "lock"), filepath.Join(data, "takes", id), filepath.Join(data, "about", id+".json")} {
		assert.Contains(t, as("cat '"+p+"'"), "ermission denied", p)
	}
	assert.Contains(t, as("ls '"+data+"'"), "ermission denied")
	a.client.Jar = nil // the port is open to every user of the machine
	for _, path := range []string{"/takes", "/takes/" + id, "/takes/" + id + "/frames/0?w=100", "/?key="} {
		assert.Equal(t, http.StatusForbidden, a.do("GET", path, nil).status, path)
	}
}

func demo() []byte {
	clip, _ := demotake.Files()
	return clip
}

// TestACookieDiesWithItsRun: after Ctrl-C the cookie of an open tab opens neither the next
// run on the same port nor anything else, and is of no use to another program on the port.
func TestACookieDiesWithItsRun(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	a := start(t, data).enter()
	_, port, _ := strings.Cut(strings.TrimPrefix(a.base, "http://"), ":")
	jar := a.client.Jar
	req, err := http.NewRequest("GET", a.base+"/takes", nil)
	require.NoError(t, err)
	before := jar.Cookies(req.URL)
	require.Len(t, before, 1)
	a.stop()

	// another program on the port gets the cookie of the tab, which goes on sending requests
	l, err := net.Listen("tcp4", "127.0.0.1:"+port)
	require.NoError(t, err)
	heard := make(chan string, 1)
	go http.Serve(l, http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { heard <- r.Header.Get("Cookie") }))
	r, err := a.client.Get(a.base + "/choices")
	require.NoError(t, err)
	r.Body.Close()
	stolen := <-heard
	require.Contains(t, stolen, before[0].Value)
	require.NoError(t, l.Close())
	a.client.CloseIdleConnections()

	b := start(t, data, "--port", port)
	b.client.Jar = nil
	for _, path := range everyPath {
		r := b.do("GET", path, nil, func(q *http.Request) { q.Header.Set("Cookie", stolen) })
		assert.Equal(t, http.StatusForbidden, r.status, path)
	}
	b.client.Jar = newJar(t)
	b.enter()
	after := b.client.Jar.Cookies(req.URL)
	require.Len(t, after, 1)
	assert.NotEqual(t, before[0].Value, after[0].Value)
}

// TestNoPictureStaysInTheBrowser checks that the browser may store nothing that shows a person.
func TestNoPictureStaysInTheBrowser(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir()).enter()
	id := a.upload("leap.mp4", demo())
	require.Equal(t, http.StatusOK, a.do("PUT", "/takes/"+id+"/work", strings.NewReader(workOn(43, 0))).status)
	require.Equal(t, http.StatusOK, a.do("GET", "/takes/"+id+"/thumb", nil).status)
	for _, p := range []string{"/thumb", "/frames/43?w=320", "/frames/43?w=320&back=yes", "/frames/43/part?x=0&y=0&pw=100&ph=100&w=100", "/frames/43/look",
		"/frames/43/figure.png", "/frames/43/sheet.html?for=judge", "/frames/43/reading.json", "/work", ""} {
		r := a.do("GET", "/takes/"+id+p, nil)
		require.Equal(t, http.StatusOK, r.status, "%s: %s", p, r.body)
		assert.Equal(t, "no-store", r.header.Get("Cache-Control"), p)
	}
}

// TestCoveredClipIsNeverTheOther: a request for the clip with the head covered never gets the clip
// without, whichever was drawn last.
func TestCoveredClipIsNeverTheOther(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	a := start(t, data).enter()
	id := a.upload("leap.mp4", demo())
	for name, text := range map[string]string{id + ".mp4": "with the face", id + ".covered.mp4": "without"} {
		require.Equal(t, http.StatusNotFound, a.do("GET", "/takes/"+id+"/clip.mp4?covered=yes", nil).status)
		files(t, data, map[string]string{"clips/" + name: text})
		covered := strings.Contains(name, "covered")
		r := a.do("GET", "/takes/"+id+"/clip.mp4", nil)
		assert.Equal(t, !covered, r.status == http.StatusOK, "%s: %s", name, r.body)
		r = a.do("GET", "/takes/"+id+"/clip.mp4?covered=yes", nil)
		assert.Equal(t, covered, r.status == http.StatusOK, "%s: %s", name, r.body)
		assert.NotContains(t, string(r.body), "with the face")
		require.NoError(t, os.Remove(filepath.Join(data, "clips", name)))
	}
}

// TestNoTextIsTurnedAround checks that characters that reverse text are removed from names,
// from the take's name to the kept reading.
func TestNoTextIsTurnedAround(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	a := start(t, data).enter()
	const turned = "Wr\u202een\u2066\u200f"
	id := a.upload("leap%E2%80%AE4pm.mp4", demo())
	files(t, data, map[string]string{"about/" + id + ".json": `{"name":"` + turned + `.mp4"}`}) // as a store of before may have it
	frame := a.marked(t, id)
	kept := a.keepAs(id, frame, `"athlete": "`+turned+`", "day": "2026-03-21", "note": "`+turned+`"`)
	again := a.keepAs(id, frame, `"athlete": "Iris", "day": "2026-03-21", "note": "`+turned+`"`)
	for name, r := range map[string]answered{"kept": kept, "kept again": again, "the list": a.do("GET", "/takes", nil), "the take": a.do("GET", "/takes/"+id, nil),
		"the reading": a.do("POST", "/takes/"+id+"/reading", strings.NewReader(workOn(43, 0))),
		"the sheet":   a.do("GET", "/takes/"+id+"/frames/"+strconv.Itoa(frame)+"/sheet.html?for=judge&who="+"Wr%E2%80%AEen", nil),
		"the marks":   a.do("GET", "/takes/"+id+"/frames/"+strconv.Itoa(frame)+"/marks.json", nil),
		"a refusal":   a.do("POST", "/takes/"+id+"/reading", strings.NewReader(strings.Replace(workOn(43, 0), "fig-women", turned, 1)))} {
		for _, c := range []string{"\u202e", "\u2066", "\u200f"} {
			assert.NotContains(t, string(r.body), c, name)
		}
		assert.NotContains(t, fmt.Sprint(r.header), "\u202e", name)
	}
}

// With --linger the server waits for a window, runs while one is open, also over a
// reload, and ends by itself after the last was closed, with a message.
func TestThePageEndsAfterItsLastWindow(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir(), "--linger", "6s") // a reload on a busy machine takes less
	time.Sleep(7 * time.Second)                  // nobody has come yet
	w := a.open(laptop)
	w.do(chromedp.Reload())
	w.ready()
	time.Sleep(7 * time.Second)
	assert.Equal(t, 200, get(w, chromedp.Evaluate[int](`fetch("/takes").then((r) => r.status)`, chromedp.EvalAwaitPromise)))

	w.do(chromedp.Navigate("about:blank")) // as a window that is closed
	ended := make(chan error, 1)
	go func() { ended <- a.cmd.Wait() }()
	select {
	case err := <-ended:
		require.NoError(t, err)
	case <-time.After(browsertest.Patience):
		t.Fatal("the page did not end")
	}
	assert.Contains(t, a.errs.String(), "the last window was closed 6s ago: the page ends")
}
