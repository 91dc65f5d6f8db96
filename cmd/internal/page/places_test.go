package page_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/trial/browsertest"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// inSight reports whether the whole of an element shows in the window as it is scrolled.
func (w *window) inSight(id string) bool {
	w.t.Helper()
	return js[bool](w, `(() => {
		const r = document.getElementById(%q).getBoundingClientRect();
		return r.height > 0 && r.top >= 0 && r.bottom <= innerHeight;
	})()`, id)
}

// After the last mark the verdict, the ruler and the button that keeps show beside the
// picture, and nothing has to be scrolled: on small laptops and on a tablet both ways.
func TestTheVerdictIsInSight(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir())
	for _, s := range []size{{1366, 768, false, 1}, {1024, 633, false, 1}, {1180, 820, true, 1}, {820, 1180, true, 1}} {
		w := a.open(s)
		w.click(w.middle(js[string](w, `document.getElementById("demo").offsetParent ? "#demo" : "#shelf button"`))) // which the second window finds taken in
		w.until(`document.getElementById("print").dataset.sharp === "yes"`)
		w.choose("what", "skill fig-women/split-leap")
		frame, marks := demoMarks(t)
		w.goTo(frame)
		js[bool](w, `(scrollTo({ top: 0, behavior: "instant" }), true)`)
		for _, l := range asks {
			if !js[bool](w, `document.querySelector('.handle[data-key=%q]') !== null`, l) { // the second window finds them placed
				w.click(w.onPicture(marks[l][0], marks[l][1]))
			}
		}
		w.read()
		w.calm()
		w.shot(fmt.Sprintf("sight-%d", s.w))
		for _, id := range []string{"print", "say", "value", "ruler", "keep-do", "strip", "zoom"} {
			assert.True(t, w.inSight(id), "%s at %d by %d", id, s.w, s.h)
		}
		assert.Zero(t, js[float64](w, `scrollY`))
		assert.Empty(t, js[[]string](w, buttonsOver), "buttons that lie over the picture at %d by %d", s.w, s.h)
		letters := js[[]float64](w, `[...document.querySelectorAll("#ruler text")].map((e) => e.getBoundingClientRect().height)`)
		assert.NotEmpty(t, letters)
		assert.Less(t, slices.Max(letters), 24., "letters of the ruler at %d by %d, px", s.w, s.h)
		if s.touch {
			assert.Empty(t, js[[]string](w, `[...document.querySelectorAll("#moment button:not(.handle), #keep button")].filter((e) => e.checkVisibility() && e.getBoundingClientRect().height < 44).map((e) => e.outerHTML.slice(0, 80))`), "touch targets at %d by %d", s.w, s.h)
		}
		w.saved()
	}
}

// buttonsOver are the buttons over the picture, where they would cover an ankle.
const buttonsOver = `(() => {
	const p = document.getElementById("print").getBoundingClientRect();
	return [...document.querySelectorAll("#moment button:not(.handle)")].filter((e) => {
		const r = e.getBoundingClientRect();
		return e.checkVisibility() && r.left < p.right && r.right > p.left && r.top < p.bottom && r.bottom > p.top;
	}).map((e) => e.outerHTML.slice(0, 80));
})()`

// A finger that swipes over the picture scrolls the page: it places no mark and moves none.
// A tap places.
func TestASwipeOverThePicture(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), phone)
	_, marks := demoMarks(t)
	w.middle("#print")
	swipe := func(p at) {
		w.fingers(input.DispatchTouchEventTypeTouchStart, p)
		for d := 12.0; d <= 96; d += 12 {
			w.fingers(input.DispatchTouchEventTypeTouchMove, at{p.X, p.Y - d})
		}
		w.fingers(input.DispatchTouchEventTypeTouchEnd)
	}
	before := js[float64](w, `scrollY`)
	swipe(w.onPicture(marks["hip"][0], marks["hip"][1]))
	assert.Empty(t, w.shownMarks(), "nothing is placed")
	assert.Greater(t, js[float64](w, `scrollY`), before, "the page scrolls")

	w.middle("#print")
	w.tap(w.onPicture(marks["hip"][0], marks["hip"][1]))
	w.until(`document.querySelectorAll(".handle").length === 1`)
	at := w.shownMarks()
	swipe(w.onPicture(marks["hip"][0], marks["hip"][1]))
	assert.Equal(t, at, w.shownMarks(), "the mark stays where it is")
}

// A click near a mark that is placed places the next one, and does not take hold of it.
func TestTwoMarksNearEachOther(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	_, marks := demoMarks(t)
	p := w.onPicture(marks["hip"][0], marks["hip"][1])
	w.click(p)
	w.until(`document.querySelectorAll(".handle").length === 1`)
	hip := w.shownMarks()["hip"]
	w.click(at{p.X + 9, p.Y + 3})
	w.until(`document.querySelectorAll(".handle").length === 2`)
	assert.Equal(t, hip, w.shownMarks()["hip"])
}

// What is said of one take holds for the next, but its athlete and note do not. All files
// of one drop are taken in. Back and forward lead from place to place.
func TestOneTakeAfterAnother(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	clip, _ := demotake.Files()
	first := filepath.Join(dir, "wren.mp4")
	require.NoError(t, os.WriteFile(first, clip, 0o600))
	second := filepath.Join(dir, "kit.mp4")
	require.NoError(t, os.WriteFile(second, append(clip, "\x00\x00\x00\x08free"...), 0o600))
	w := start(t, t.TempDir()).open(laptop)
	w.do(chromedp.SetUploadFiles(`#file`, []string{first, second}))
	w.until(`document.querySelectorAll("#shelf li").length === 2 && !document.querySelector("#coming li")`)
	w.click(w.middle("#shelf li button"))
	w.until(`document.getElementById("print").dataset.sharp === "yes" && document.getElementById("headline").textContent.includes("wren.mp4")`)
	w.choose("what", "skill fig-women/split-leap")
	w.choose("camera", "squared")
	w.choose("oblique", "3") // in place of what was chosen
	assert.Empty(t, js[string](w, `document.getElementById("camera").value`))
	w.choose("camera", "by-eye")
	assert.Empty(t, js[string](w, `document.getElementById("oblique").value`))
	frame, _ := demoMarks(t)
	w.goTo(frame)
	w.place(asks...)
	w.read()
	w.do(typed("athlete", "Wren"))
	w.open("take-about")
	w.do(typed("setup", "tripod by the mat"))
	w.do(typed("note", "taped"))
	w.saved()

	w.click(w.middle("#to-today"))
	w.until(`!document.body.classList.contains("opened")`)
	w.click(w.middle("#shelf li:has(.print-small:not([aria-current])) button"))
	w.until(`document.getElementById("headline").textContent.includes("kit.mp4") && document.getElementById("print").dataset.sharp === "yes"`)
	w.until(`document.getElementById("what").value === "skill fig-women/split-leap"`)
	assert.Equal(t, "by-eye", js[string](w, `document.getElementById("camera").value`))
	assert.Equal(t, []string{"", "", "tripod by the mat"}, js[[]string](w, `["athlete", "note", "setup"].map((f) => document.getElementById(f).value)`))

	js[bool](w, `(history.go(-2), true)`)
	w.until(`document.getElementById("headline").textContent.includes("wren.mp4")`)
	w.until(`document.getElementById("athlete").value === "Wren" && document.getElementById("note").value === "taped"`)
	w.saved()
	w.do(chromedp.Reload())
	w.ready()
	w.until(`document.getElementById("athlete").value === "Wren" && document.getElementById("setup").value === "tripod by the mat"`)
	w.onlyOwn()
}

// A notice stands where it is seen and moves nothing.
func TestANoticeMovesNothing(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	w.place(asks...)
	w.read()
	top := func() float64 { return js[float64](w, `document.getElementById("print").getBoundingClientRect().top`) }
	call(w, network.SetBlockedURLs, network.SetBlockedURLsParams{URLPatterns: []*network.BlockPattern{{URLPattern: w.a.base + "/*figure.png*", Block: true}}})
	w.open("saves")
	p := w.middle("#save-figure")
	before := top()
	w.click(p)
	w.until(`document.querySelector(".notice")`)
	assert.Equal(t, before, top())
	assert.True(t, js[bool](w, `(() => { const r = document.querySelector(".notice").getBoundingClientRect(); return r.top >= 0 && r.bottom <= innerHeight; })()`))
	found, err := browsertest.Violations(w.ctx, browsertest.Axe(t), 20)
	w.fine(err)
	assert.Empty(t, found)
}
