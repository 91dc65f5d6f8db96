package page_test

import (
	"fmt"
	"os"
	"os/exec"
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

// After the last mark the verdict, the ruler and the button that keeps are in sight beside the
// picture without scrolling: on small laptops and on a tablet both ways.
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
		w.keysHandled()
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

// buttonsOver is an expression for the buttons over the picture, which could cover an ankle.
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

// The values of one take are the next one's, except its athlete and note. All files
// of one drop are uploaded. Back and forward go from place to place.
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

// A notice is in sight and moves nothing.
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
	w.noError(err)
	assert.Empty(t, found)
}

// filled returns the share of the stage's width between two columns of the take.
func (w *window) filled(from, to float64) float64 {
	w.t.Helper()
	return (w.onPicture(to, 500).X - w.onPicture(from, 500).X) / js[float64](w, `document.getElementById("stage").clientWidth`)
}

// While frames are stepped, the picture zooms to the athlete by itself, once it is known where
// somebody moves, and to the marks once there is a reading. One button shows the whole picture, another
// zooms again. A click lands on what it shows.
func TestThePictureFollowsTheAthlete(t *testing.T) {
	t.Parallel()
	w := start(t, t.TempDir()).open(size{1366, 768, false, 1})
	w.click(w.middle("#demo"))
	w.until(`document.getElementById("print").dataset.sharp === "yes"`)
	w.choose("what", "skill fig-women/split-leap")
	frame, marks := demoMarks(t)
	back, front := marks["back-ankle"][0], marks["front-ankle"][0]
	whole := w.filled(back, front)
	assert.Less(t, whole, 0.5, "she is small in the whole picture")
	w.until(`!document.getElementById("zoom-athlete").disabled`) // the clip was looked through
	assert.InDelta(t, whole, w.filled(back, front), 0.01, "nothing moves while nobody steps")
	w.goTo(frame)
	w.keysHandled()
	stepped := w.filled(back, front)
	assert.Greater(t, stepped, whole*1.3)
	for _, at := range marks {
		p := w.onPicture(at[0], at[1])
		assert.True(t, js[bool](w, `(() => { const r = document.getElementById("stage").getBoundingClientRect(); return %g > r.left && %g < r.right && %g > r.top && %g < r.bottom; })()`, p.X, p.X, p.Y, p.Y), "all of her shows")
	}
	w.see("zoom-moving")
	w.place(asks...)
	w.read()
	w.keysHandled()
	assert.Greater(t, w.filled(back, front), whole*1.4, "she fills the stage")
	stored := w.onServer(frame)
	require.Len(t, stored.Marks, 3)
	for _, m := range stored.Marks {
		assert.InDelta(t, marks[m.Landmark][0], m.X, 2, m.Landmark)
		assert.InDelta(t, marks[m.Landmark][1], m.Y, 2, m.Landmark)
	}
	w.see("zoom-read")
	w.click(w.middle("#zoom-all"))
	w.keysHandled()
	assert.InDelta(t, whole, w.filled(back, front), 0.01)
	w.goTo(frame + 1)
	w.keysHandled()
	assert.InDelta(t, whole, w.filled(back, front), 0.01, "it stays as it was set by hand")
	w.goTo(frame)
	w.click(w.middle("#zoom-athlete"))
	w.keysHandled()
	assert.Greater(t, w.filled(back, front), whole*1.4)
	w.saved()
	w.onlyOwn()
}

// A portrait clip fills the stage, on a laptop, a tablet and a phone.
func TestAPortraitClip(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	clip, _ := demotake.Files()
	from, to := filepath.Join(dir, "demo.mp4"), filepath.Join(dir, "portrait.mp4")
	require.NoError(t, os.WriteFile(from, clip, 0o600))
	out, err := exec.Command("ffmpeg", "-v", "error", "-i", from, "-vf", "crop=608:1080:x=650:y=0", "-frames:v", "60", "-c:v", "libx264", "-preset", "ultrafast", to).CombinedOutput()
	require.NoError(t, err, "%s", out)
	axe := browsertest.Axe(t)
	a := start(t, t.TempDir())
	id := ""
	for i, s := range []size{{1366, 768, false, 1}, {820, 1180, true, 1}, {390, 844, true, 1}} {
		w := a.open(s)
		if i == 0 {
			w.drop(to)
			id = w.opened()
		} else {
			js[bool](w, `(location.hash = %q, true)`, id)
			w.until(`document.getElementById("print").dataset.sharp === "yes"`)
		}
		if i == 0 { // on the others she fills the stage as it is
			w.until(`!document.getElementById("zoom-athlete").disabled`)
			w.click(w.middle("#zoom-athlete"))
			w.keysHandled()
		}
		js[bool](w, `(scrollTo({ top: 0, behavior: "instant" }), true)`)
		w.see(fmt.Sprintf("portrait-%d", s.w))
		r := js[[]float64](w, `(() => { const r = document.getElementById("print").getBoundingClientRect(); return [r.width, r.height]; })()`)
		assert.LessOrEqual(t, r[1], float64(s.h))
		if s.w > s.h {
			assert.Greater(t, r[0], 700.0, "the whole column")
		}
		w.accessible(axe, fmt.Sprintf("a portrait clip at %d", s.w))
		w.onlyOwn()
	}
}

// If the side of the angle depends on the way the chest faces, the page gives no verdict and asks at
// the chest; the arrow decides, and the marks are read.
func TestTheChestIsAskedFor(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	w.showWhole()
	// the shoulder on the line to the back ankle: a leg along the trunk
	for _, m := range []struct {
		landmark string
		x, y     float64
	}{{"hip", 900, 560}, {"front-ankle", 930, 980}, {"back-ankle", 890, 150}, {"shoulder", 900, 360}} {
		w.pick(m.landmark)
		w.click(w.onPicture(m.x, m.y))
		w.until(`[...document.querySelectorAll(".handle")].some((h) => h.dataset.key === %q)`, m.landmark)
	}
	w.until(`document.querySelectorAll("#faces button").length === 2 && !document.getElementById("faces").hidden`)
	assert.Contains(t, w.text("todo"), "degrees facing left")
	assert.True(t, js[bool](w, `document.getElementById("result").hidden`), "no verdict where the side is not decided")
	assert.False(t, js[bool](w, `document.getElementById("facing").hidden`), "it can be said beside the picture too")
	w.shot("facing")
	w.click(w.middle("#faces .right"))
	w.read()
	assert.True(t, js[bool](w, `document.getElementById("faces").hidden`))
	first := js[float64](w, `Number(document.getElementById("reading").dataset.angle)`)
	w.click(w.middle(`#facing input[value="left"] + label, #facing label:has(input[value="left"])`))
	w.until(`Math.abs(Number(document.getElementById("reading").dataset.angle) - %g) > 1`, first)
	w.read()
	other := js[float64](w, `Number(document.getElementById("reading").dataset.angle)`)
	require.InDelta(t, 360, first+other, 3, "the two ways round")
	w.onlyOwn()
}

// The knees are not asked for in turn, but are in the list; if they are marked, they are shown beside the reading.
func TestKneesAreShown(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	w.place(asks...)
	w.read()
	assert.True(t, js[bool](w, `document.getElementById("knees").hidden`))
	w.open("worth")
	assert.Contains(t, w.text("left-out"), "whether a knee is bent")
	assert.True(t, js[bool](w, `document.getElementById("ask").hidden`), "nothing more is asked for")
	_, at := demoMarks(t)
	for _, side := range []string{"front", "back"} {
		w.pick(side + "-knee")
		hip, ankle := at["hip"], at[side+"-ankle"]
		w.click(w.onPicture((hip[0]+ankle[0])/2, (hip[1]+ankle[1])/2-60)) // 60 px above the line: bent
		w.until(`[...document.querySelectorAll(".handle")].some((h) => h.dataset.key === %q)`, side+"-knee")
	}
	w.until(`document.getElementById("knees").children.length === 3`)
	w.read()
	assert.Contains(t, w.text("knees"), "by the thighs alone it is")
	assert.NotContains(t, w.text("left-out"), "whether a knee is bent")
	w.shot("knees")
	w.onlyOwn()
}
