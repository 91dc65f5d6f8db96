package page_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"ecart/cmd/internal/trial/browsertest"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// window is a browser window that shares nothing with other tests.
type window struct {
	t   testing.TB
	ctx context.Context
	a   *app

	mu       sync.Mutex
	requests []string // addresses asked for
	errors   []string // of the script, and refusals of the policy
}

// size is that of a window in CSS pixels.
type size struct {
	w, h  int64
	touch bool
	dpr   float64
}

var (
	laptop = size{1440, 900, false, 1}
	phone  = size{360, 740, true, 2}
)

// open opens the page in a window that shares nothing with others.
func (a *app) open(s size) *window {
	a.knowsDemo()
	return a.openIn(browsertest.Browser(a.t), s, chromedp.WithNewBrowserContext())
}

// another opens the page in a second window of the same person's browser.
func (w *window) another(s size) *window { return w.a.openIn(w.ctx, s) }

func (a *app) openIn(parent context.Context, s size, opts ...chromedp.ContextOption) *window {
	ctx, end := chromedp.NewContext(parent, opts...)
	a.t.Cleanup(end)
	w := &window{t: a.t, ctx: ctx, a: a}
	require.NoError(a.t, chromedp.Listen(ctx, w.heard))
	call(w, network.Enable, network.EnableParams{})
	call(w, runtime.Enable, cdp.Empty{})
	call(w, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: s.w, Height: s.h, DeviceScaleFactor: s.dpr, Mobile: s.touch})
	if s.touch {
		call(w, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true, MaxTouchPoints: 5})
	}
	call(w, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: a.script})
	w.do(chromedp.Navigate(a.entrance()))
	w.ready()
	return w
}

// ready waits until the page is there. It evaluates anew each time: the first document at the address
// leads on to the page, and a pending evaluation is lost with it.
func (w *window) ready() {
	w.t.Helper()
	var err error
	for end := time.Now().Add(browsertest.Patience); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		var is bool
		if is, err = browsertest.Run(w.ctx, chromedp.Evaluate[bool](`location.protocol === "http:" && document.documentElement.dataset.ready === "yes"`)); err == nil && is {
			return
		}
	}
	w.noError(errors.Join(errors.New("the page did not come"), err))
}

func (w *window) heard(e any) {
	w.mu.Lock()
	defer w.mu.Unlock()
	switch e := e.(type) {
	case *network.EventRequestWillBeSent:
		w.requests = append(w.requests, e.Request.URL)
	case *runtime.EventExceptionThrown:
		w.errors = append(w.errors, jsonOf(e.ExceptionDetails))
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError {
			w.errors = append(w.errors, jsonOf(e.Args))
		}
	}
}

// call runs a command of the browser's protocol.
func call[P, R any](w *window, cmd cdp.Command[P, R], params P) R {
	w.t.Helper()
	r, err := browsertest.Call(w.ctx, cmd, params)
	w.noError(err)
	return r
}

// do runs an action and fails the test if it does not end.
func (w *window) do(a chromedp.Action[chromedp.Void]) {
	w.t.Helper()
	get(w, a)
}

func get[T any](w *window, a chromedp.Action[T]) T {
	w.t.Helper()
	v, err := browsertest.Run(w.ctx, a)
	w.noError(err)
	return v
}

// noError ends the test if there is an error, and logs what the page shows.
func (w *window) noError(err error) {
	w.t.Helper()
	if err == nil {
		return
	}
	ctx, end := context.WithTimeout(w.ctx, 5*time.Second)
	defer end()
	state, _ := chromedp.Run(ctx, chromedp.Evaluate[string](`document.body.innerText.slice(0, 3000)`))
	w.mu.Lock()
	defer w.mu.Unlock()
	require.NoError(w.t, err, "the page says:\n%s\nscript errors: %q\nthe server says: %s", state, w.errors, w.a.errs)
}

// js evaluates an expression; in strings no-break spaces come as ordinary ones.
func js[T any](w *window, expression string, a ...any) T {
	w.t.Helper()
	out := any(get(w, chromedp.Evaluate[T](fmt.Sprintf(expression, a...))))
	switch v := out.(type) {
	case string:
		out = spaced(v)
	case []string:
		for i := range v {
			v[i] = spaced(v[i])
		}
	case [][]string:
		for _, row := range v {
			for i := range row {
				row[i] = spaced(row[i])
			}
		}
	}
	return out.(T)
}

// spaced replaces no-break spaces by ordinary ones; TestUnitsStayWithFigures tests the no-break ones.
func spaced(s string) string { return strings.ReplaceAll(s, "\u00a0", " ") }

// until waits for an expression to be true.
func (w *window) until(expression string, a ...any) {
	w.t.Helper()
	w.do(chromedp.Poll[chromedp.Void](fmt.Sprintf(expression, a...), chromedp.WithPollingInterval(30*time.Millisecond), chromedp.WithPollingTimeout(browsertest.Patience)))
}

// text returns the visible text of an element.
func (w *window) text(id string) string {
	w.t.Helper()
	return js[string](w, `document.getElementById(%q).innerText`, id)
}

// onlyOwn checks that all requests went to the page's own address, and
// that the script ran without an error.
func (w *window) onlyOwn() {
	w.t.Helper()
	w.mu.Lock()
	defer w.mu.Unlock()
	assert.NotEmpty(w.t, w.requests)
	for _, r := range w.requests {
		u, err := url.Parse(r)
		require.NoError(w.t, err)
		if u.Scheme == "blob" || u.Scheme == "data" { // neither is asked of anybody; a date field's own icon is the latter
			continue
		}
		assert.True(w.t, strings.HasPrefix(r, w.a.base+"/"), "the page asked for %s", r)
	}
	assert.Empty(w.t, w.errors)
}

// spilling lists the elements that are wider than the box around them, which squeezes words or lays them over others. The
// picture on a phone goes from edge to edge of the screen on purpose.
const spilling = `[...document.body.querySelectorAll("*")].filter((e) => {
	if (e.closest("svg, [aria-hidden=true]") || e.id === "moment" || !e.checkVisibility({visibilityProperty: true}) || e.clientWidth < 2) return false;
	const s = getComputedStyle(e);
	return s.display !== "inline" && s.overflowX === "visible" && s.position !== "absolute" && e.scrollWidth > e.clientWidth + 2;
}).map((e) => (e.id ? "#" + e.id : e.tagName.toLowerCase() + "." + e.className) + ": " + e.scrollWidth + " px in " + e.clientWidth)`

// fits checks that nothing on the page is wider than the space for it.
func (w *window) fits(where string) {
	w.t.Helper()
	assert.Empty(w.t, js[[]string](w, spilling), "%s: wider than the room they have", where)
}

// shot writes a picture of the whole page into the folder ECART_SHOTS, if it is set, and checks that
// everything fits.
func (w *window) shot(name string) {
	w.t.Helper()
	w.fits(name)
	browsertest.Look(w.t, name+".png", func() []byte { return get(w, chromedp.FullScreenshot(100)) })
}

// see writes a picture of the visible part of the page.
func (w *window) see(name string) {
	w.t.Helper()
	browsertest.Look(w.t, name+".png", func() []byte { return get(w, chromedp.CaptureScreenshot()) })
}

func jsonOf(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(b)
}
