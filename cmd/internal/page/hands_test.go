package page_test

import (
	"fmt"
	"time"

	"ecart/cmd/internal/trial/browsertest"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// at is a point of the window in CSS pixels.
type at struct{ X, Y float64 }

// onPicture returns the place in the window of a pixel of the take, with the picture as it is zoomed.
func (w *window) onPicture(px, py float64) at {
	w.t.Helper()
	return js[at](w, `(() => {
		const r = document.getElementById("stage").getBoundingClientRect();
		const [, x, y, s] = /translate\(([-\d.e]+) ([-\d.e]+)\) scale\(([-\d.e]+)\)/.exec(document.getElementById("fan").getAttribute("transform")).map(Number);
		return { X: r.left + x + s * %g, Y: r.top + y + s * %g };
	})()`, px, py)
}

// middle returns the middle of an element, and scrolls to it if need be.
func (w *window) middle(selector string) at {
	w.t.Helper()
	const still = 60 * time.Millisecond // between two looks; a scroll that goes on moves in each frame, of 16 ms
	where := func(first string) at {
		return js[at](w, `(() => {
			const e = document.querySelector(%q);
			if (!e) throw new Error("there is no " + %q);
			%s
			const r = e.getBoundingClientRect();
			return { X: r.left + r.width / 2, Y: r.top + r.height / 2 };
		})()`, selector, selector, first)
	}
	const bring = `e.scrollIntoView({ block: "center", behavior: "instant" });`
	for end := time.Now().Add(browsertest.Patience); ; {
		p := where(bring)
		time.Sleep(still)
		// the browser may still be bringing what was typed into view, smoothly
		if q := where(""); p == q || time.Now().After(end) {
			return q
		}
	}
}

// showWhole shows the whole picture from now on. Without it the view zooms to the athlete at some time, once it is
// known where somebody moves, and a point beside her is out of sight.
func (w *window) showWhole() {
	w.t.Helper()
	w.click(w.middle("#zoom-in"))
	w.until(`!document.getElementById("zoom-all").disabled`)
	w.click(w.middle("#zoom-all"))
	w.keysHandled()
}

func (w *window) mouse(kind input.DispatchMouseEventType, p at, buttons int64) {
	w.t.Helper()
	e := input.DispatchMouseEventParams{Type: kind, X: p.X, Y: p.Y, Buttons: buttons, ClickCount: 1, Button: input.MouseButtonLeft}
	if kind == input.DispatchMouseEventTypeMouseMoved {
		e.ClickCount = 0
		if buttons == 0 {
			e.Button = input.MouseButtonNone
		}
	}
	call(w, input.DispatchMouseEvent, e)
}

// click presses the left button at a point.
func (w *window) click(p at) {
	w.t.Helper()
	w.mouse(input.DispatchMouseEventTypeMouseMoved, p, 0)
	w.mouse(input.DispatchMouseEventTypeMousePressed, p, 1)
	w.mouse(input.DispatchMouseEventTypeMouseReleased, p, 0)
}

// drag moves from one point to another with the button down, in steps.
func (w *window) drag(from, to at, steps int) {
	w.t.Helper()
	w.mouse(input.DispatchMouseEventTypeMouseMoved, from, 0)
	w.mouse(input.DispatchMouseEventTypeMousePressed, from, 1)
	for i := 1; i <= steps; i++ {
		f := float64(i) / float64(steps)
		w.mouse(input.DispatchMouseEventTypeMouseMoved, at{from.X + f*(to.X-from.X), from.Y + f*(to.Y-from.Y)}, 1)
	}
	w.mouse(input.DispatchMouseEventTypeMouseReleased, to, 0)
}

func (w *window) wheel(p at, dy float64) {
	w.t.Helper()
	call(w, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: input.DispatchMouseEventTypeMouseWheel, X: p.X, Y: p.Y, DeltaX: 1e-3, DeltaY: dy}) // a delta of 0 is left out on the way, and missed
}

func (w *window) fingers(kind input.DispatchTouchEventType, pts ...at) {
	w.t.Helper()
	touch := []*input.TouchPoint{}
	for i, p := range pts {
		id := float64(i)
		touch = append(touch, &input.TouchPoint{X: p.X, Y: p.Y, ID: &id})
	}
	call(w, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: touch})
}

// tap puts a finger down and lifts it.
func (w *window) tap(p at) {
	w.t.Helper()
	w.fingers(input.DispatchTouchEventTypeTouchStart, p)
	w.fingers(input.DispatchTouchEventTypeTouchEnd)
}

// key presses a key, with modifiers.
func (w *window) key(k string, with ...kb.Modifier) {
	w.t.Helper()
	w.do(chromedp.KeyEvent(k, chromedp.KeyModifiers(with...)))
}

// hold presses a key so many times.
func (w *window) hold(k string, times int, with ...kb.Modifier) {
	w.t.Helper()
	for range times {
		w.key(k, with...)
	}
}

// keysHandled waits until the page has handled the keys that were sent.
func (w *window) keysHandled() {
	w.t.Helper()
	get(w, chromedp.Evaluate[bool](`new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(() => done(true), 50))))`, chromedp.EvalAwaitPromise))
}

// tabTo presses Tab until the expression holds for
// document.activeElement (as e).
func (w *window) tabTo(where string) {
	w.t.Helper()
	for range 80 {
		if js[bool](w, `(() => { const e = document.activeElement; return !!(%s); })()`, where) {
			return
		}
		w.key(kb.Tab)
	}
	w.noError(fmt.Errorf("80 times Tab did not lead to %s", where))
}

// saved waits until all marks are on the server's disk.
func (w *window) saved() {
	w.t.Helper()
	w.until(`document.documentElement.dataset.saved !== "no" && document.documentElement.dataset.said !== "no"`)
	time.Sleep(30 * time.Millisecond)
	w.until(`document.documentElement.dataset.saved !== "no" && document.documentElement.dataset.said !== "no"`)
}

// dropDemo gives the page the demo's clip as a dropped file.
func (w *window) drop(path string) {
	w.t.Helper()
	w.do(chromedp.SetUploadFiles(`#file`, []string{path}))
	w.until(`document.getElementById("print").dataset.sharp === "yes" && document.body.classList.contains("opened")`)
}

// choose picks an option of a list as a person does, with a change event.
func (w *window) choose(id, value string) {
	w.t.Helper()
	js[bool](w, `(() => {
		const e = document.getElementById(%q);
		e.value = %q;
		e.dispatchEvent(new Event("change", { bubbles: true }));
		return e.value === %q;
	})()`, id, value, value)
}

// goTo makes a frame the moment, and waits for its sharp picture.
func (w *window) goTo(n int) {
	w.t.Helper()
	js[bool](w, `(document.getElementById("strip").focus(), true)`)
	for {
		now := js[int](w, `Number(document.getElementById("strip").getAttribute("aria-valuenow"))`)
		switch {
		case now+10 <= n:
			w.key(">")
		case now < n:
			w.key(".")
		case now-10 >= n:
			w.key("<")
		case now > n:
			w.key(",")
		default:
			w.until(`document.getElementById("print").dataset.shown === "%d" && document.getElementById("print").dataset.sharp === "yes"`, n)
			return
		}
	}
}

// read waits for the full reading.
func (w *window) read() {
	w.t.Helper()
	w.until(`document.getElementById("reading").dataset.state === "full" && document.getElementById("reading").getAttribute("aria-busy") === "false"`)
}

// typed puts the focus on a field and types into it.
func typed(id, text string) chromedp.Action[chromedp.Void] {
	return chromedp.SendKeys(chromedp.ID(id), text) // a search would find a link to #athletes for #athlete
}

// keys types where the focus is.
func keys(text string) chromedp.Action[chromedp.Void] { return chromedp.KeyEvent(text) }
