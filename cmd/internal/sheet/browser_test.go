package sheet_test

import (
	"bytes"
	"context"
	"crypto/sha512"
	"encoding/base64"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// patience ends a test that has failed.
const patience = 60 * time.Second

var (
	browserOnce sync.Once
	browserCtx  context.Context
	browserEnd  func()
	browserErr  error
)

// browser is one headless Chromium for all tests of the package.
func browser(t testing.TB) context.Context {
	browserOnce.Do(func() {
		dir, err := os.MkdirTemp("", "ecart-browser-")
		if err != nil {
			browserErr = err
			return
		}
		alloc, endAlloc := chromedp.NewExecAllocator(context.Background(),
			chromedp.ExecPath("chromium"), chromedp.UserDataDir(dir), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
			chromedp.NoFirstRun, chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
			chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true), chromedp.Flag("hide-scrollbars", true),
			chromedp.WSURLReadTimeout(90*time.Second))
		ctx, end := chromedp.NewContext(alloc)
		browserCtx, browserErr = ctx, chromedp.Do(ctx)
		browserEnd = func() {
			end()
			endAlloc()
			os.RemoveAll(dir)
		}
	})
	require.NoError(t, browserErr, "headless Chromium is needed: '.ci/setup test' installs it")
	return browserCtx
}

func TestMain(m *testing.M) {
	code := m.Run()
	if browserEnd != nil {
		browserEnd()
	}
	os.Exit(code)
}

// window shows one sheet.
type window struct {
	t   testing.TB
	ctx context.Context

	mu       sync.Mutex
	requests []string
}

// open writes a sheet to a file and opens it as a person would.
func open(t testing.TB, write func(io.Writer) error) *window {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, write(&b))
	file := filepath.Join(t.TempDir(), "sheet.html")
	require.NoError(t, os.WriteFile(file, b.Bytes(), 0o666))
	ctx, end := chromedp.NewContext(browser(t), chromedp.WithNewBrowserContext())
	t.Cleanup(end)
	w := &window{t: t, ctx: ctx}
	require.NoError(t, chromedp.Listen(ctx, func(e any) {
		if e, ok := e.(*network.EventRequestWillBeSent); ok {
			w.mu.Lock()
			defer w.mu.Unlock()
			w.requests = append(w.requests, e.Request.URL)
		}
	}))
	call(w, network.Enable, network.EnableParams{})
	call(w, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: 1280, Height: 1400, DeviceScaleFactor: 1})
	run(w, chromedp.Navigate("file://"+file))
	return w
}

// show puts another sheet into the window.
func (w *window) show(write func(io.Writer) error) {
	w.t.Helper()
	var b bytes.Buffer
	require.NoError(w.t, write(&b))
	file := filepath.Join(w.t.TempDir(), "sheet.html")
	require.NoError(w.t, os.WriteFile(file, b.Bytes(), 0o666))
	run(w, chromedp.Navigate("file://"+file))
}

func call[P, R any](w *window, cmd cdp.Command[P, R], params P) R {
	w.t.Helper()
	ctx, end := context.WithTimeout(w.ctx, patience)
	defer end()
	r, err := chromedp.Call(ctx, cmd, params)
	require.NoError(w.t, err)
	return r
}

func run[T any](w *window, a chromedp.Action[T]) T {
	w.t.Helper()
	ctx, end := context.WithTimeout(w.ctx, patience)
	defer end()
	v, err := chromedp.Run(ctx, a)
	require.NoError(w.t, err)
	return v
}

func js[T any](w *window, expression string) T {
	w.t.Helper()
	return run(w, chromedp.Evaluate[T](expression))
}

// pdf prints the sheet, by its own page size, and returns the number of pages and
// the size of the first in points. It leaves it where a person can look at it.
func (w *window) pdf(name string) (pages int, size string) {
	w.t.Helper()
	yes := true
	r := call(w, page.PrintToPDF, page.PrintToPDFParams{PreferCSSPageSize: &yes, PrintBackground: &yes})
	data, err := base64.StdEncoding.DecodeString(string(r.Data))
	if err != nil {
		data = []byte(r.Data)
	}
	require.True(w.t, bytes.HasPrefix(data, []byte("%PDF")))
	dir := os.Getenv("ECART_SHOTS")
	if dir == "" {
		dir = filepath.Join("..", "..", "..", "out", "sheet")
	}
	require.NoError(w.t, os.MkdirAll(dir, 0o777))
	require.NoError(w.t, os.WriteFile(filepath.Join(dir, name+".pdf"), data, 0o666))
	box := regexp.MustCompile(`/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]`).FindSubmatch(data)
	if box != nil {
		size = string(box[1]) + " x " + string(box[2])
	}
	return len(regexp.MustCompile(`/Type /Page\b`).FindAll(data, -1)), size
}

// fits checks, as printed, that the page's box holds all that is on it, that nothing
// of it reaches over its own edge, and that no two blocks overlap.
func (w *window) fits(what string) {
	w.t.Helper()
	call(w, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	bad := js[[]string](w, `(() => {
		const bad = [], main = document.querySelector("main"), page = main.getBoundingClientRect();
		const say = (e, what) => bad.push(what + ": " + e.tagName + "." + e.className + " " + e.textContent.trim().slice(0, 60));
		if (main.scrollHeight > main.clientHeight + 1) bad.push("the page holds " + main.clientHeight + " and there is " + main.scrollHeight);
		for (const e of main.querySelectorAll("*")) {
			if (e.closest("svg") && e.tagName !== "svg") continue;
			const r = e.getBoundingClientRect();
			if (r.left < page.left - 1 || r.right > page.right + 1 || r.bottom > page.bottom + 1) say(e, "off the page");
			if (e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== "inline" && e.tagName !== "svg") say(e, "too wide");
		}
		const blocks = [...main.children].map((e) => e.getBoundingClientRect());
		blocks.forEach((r, i) => { if (i && r.top < blocks[i - 1].bottom - 1) bad.push("block " + i + " lies over the one before"); });
		for (const s of main.querySelectorAll("svg")) {
			const v = s.getBoundingClientRect();
			for (const t of s.querySelectorAll("text")) {
				const r = t.getBoundingClientRect();
				if (r.left < v.left - 1 || r.right > v.right + 1 || r.bottom > v.bottom + 1) say(t, "off the drawing");
			}
		}
		return bad;
	})()`)
	assert.Empty(w.t, bad, "%s", what)
	call(w, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{})
}

// alone checks that nothing but the file itself was asked for.
func (w *window) alone() {
	w.t.Helper()
	w.mu.Lock()
	defer w.mu.Unlock()
	require.NotEmpty(w.t, w.requests)
	for _, r := range w.requests {
		assert.True(w.t, strings.HasPrefix(r, "file://") && strings.HasSuffix(r, "/sheet.html") || strings.HasPrefix(r, "data:"), "the sheet asked for %.120s", r)
	}
}

// axe is the accessibility engine axe-core (MPL-2.0) from the npm registry. It is
// fetched once into .cache and never committed.
const (
	axeVersion   = "4.14.1"
	axeIntegrity = "FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe37OgudVGtQ=="
)

func axe(t *testing.T) string {
	t.Helper()
	dir := filepath.Join("..", "..", "..", ".cache", "npm")
	require.NoError(t, os.MkdirAll(dir, 0o777))
	archive := filepath.Join(dir, "axe-core-"+axeVersion+".tgz")
	if _, err := os.Stat(archive); err != nil {
		cmd := exec.Command("npm", "pack", "--silent", "axe-core@"+axeVersion)
		cmd.Dir = dir
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "axe-core cannot be had from the npm registry, and no accessibility is checked without it: %s", out)
	}
	data, err := os.ReadFile(archive)
	require.NoError(t, err)
	sum := sha512.Sum512(data)
	require.Equal(t, axeIntegrity, base64.StdEncoding.EncodeToString(sum[:]), "%s is not what was published; remove it", archive)
	script, err := exec.Command("tar", "-xzOf", archive, "package/axe.min.js").Output()
	require.NoError(t, err)
	return string(script)
}

// accessible runs axe over the sheet, by every rule of WCAG 2.2 AA and axe's best
// practices.
func (w *window) accessible(script, what string) {
	w.t.Helper()
	run(w, chromedp.Evaluate[chromedp.Void](script))
	found := run(w, chromedp.Evaluate[[]string](`axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }).then((r) => {
		if (r.passes.length < 15) return ["only " + r.passes.length + " rules applied"];
		return r.violations.map((v) => v.id + ": " + v.help + ": " + v.nodes.map((n) => n.html.slice(0, 200) + " " + n.failureSummary).join(" | "));
	})`, chromedp.EvalAwaitPromise))
	assert.Empty(w.t, found, "%s", what)
}

// text is what the sheet shows, drawings and all.
func (w *window) text() string {
	w.t.Helper()
	return js[string](w, `document.querySelector("main").innerText + " " + [...document.querySelectorAll("svg text")].map((t) => t.textContent).join(" ")`)
}
