package sheet_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"

	"ecart/cmd/internal/trial/browsertest"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestMain(m *testing.M) {
	code := m.Run()
	browsertest.Close()
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
	w := blank(t)
	w.show(write)
	return w
}

// blank opens a window that shows nothing yet.
func blank(t testing.TB) *window {
	t.Helper()
	w := &window{t: t, ctx: browsertest.Window(t)}
	require.NoError(t, chromedp.Listen(w.ctx, func(e any) {
		if e, ok := e.(*network.EventRequestWillBeSent); ok {
			w.mu.Lock()
			defer w.mu.Unlock()
			w.requests = append(w.requests, e.Request.URL)
		}
	}))
	call(w, network.Enable, network.EnableParams{})
	call(w, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: 1280, Height: 1400, DeviceScaleFactor: 1})
	return w
}

// show puts a sheet into the window, as one just opened has it.
func (w *window) show(write func(io.Writer) error) {
	w.t.Helper()
	w.mu.Lock()
	w.requests = nil
	w.mu.Unlock()
	var b bytes.Buffer
	require.NoError(w.t, write(&b))
	file := filepath.Join(w.t.TempDir(), "sheet.html")
	require.NoError(w.t, os.WriteFile(file, b.Bytes(), 0o666))
	run(w, chromedp.Navigate("file://"+file))
}

func call[P, R any](w *window, cmd cdp.Command[P, R], params P) R {
	w.t.Helper()
	r, err := browsertest.Call(w.ctx, cmd, params)
	require.NoError(w.t, err)
	return r
}

func run[T any](w *window, a chromedp.Action[T]) T {
	w.t.Helper()
	v, err := browsertest.Run(w.ctx, a)
	require.NoError(w.t, err)
	return v
}

func js[T any](w *window, expression string) T {
	w.t.Helper()
	return run(w, chromedp.Evaluate[T](expression))
}

// pdf prints the sheet, by its own page size, and returns the number of pages and the size of the first in
// points. It keeps the file where browsertest.Look does.
func (w *window) pdf(name string) (pages int, size string) {
	w.t.Helper()
	yes := true
	r := call(w, page.PrintToPDF, page.PrintToPDFParams{PreferCSSPageSize: &yes, PrintBackground: &yes})
	data, err := base64.StdEncoding.DecodeString(string(r.Data))
	if err != nil {
		data = []byte(r.Data)
	}
	require.True(w.t, bytes.HasPrefix(data, []byte("%PDF")))
	browsertest.Look(w.t, name+".pdf", func() []byte { return data })
	box := regexp.MustCompile(`/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]`).FindSubmatch(data)
	if box != nil {
		size = string(box[1]) + " x " + string(box[2])
	}
	return browsertest.Pages(data), size
}

// fits checks, as printed, that the page holds all its content, that no element reaches over its own edge,
// and that no two blocks overlap.
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

// alone checks that the window requested nothing but the file itself.
func (w *window) alone() {
	w.t.Helper()
	w.mu.Lock()
	defer w.mu.Unlock()
	require.NotEmpty(w.t, w.requests)
	for _, r := range w.requests {
		assert.True(w.t, strings.HasPrefix(r, "file://") && strings.HasSuffix(r, "/sheet.html") || strings.HasPrefix(r, "data:"), "the sheet asked for %.120s", r)
	}
}

// accessible checks what the window shows.
func (w *window) accessible(axe, what string) {
	w.t.Helper()
	found, err := browsertest.Violations(w.ctx, axe, 15)
	require.NoError(w.t, err)
	assert.Empty(w.t, found, "%s", what)
}

// text is what the sheet shows, drawings and all.
func (w *window) text() string {
	w.t.Helper()
	return spaced(js[string](w, `document.querySelector("main").innerText + " " + [...document.querySelectorAll("svg text")].map((t) => t.textContent).join(" ")`))
}
