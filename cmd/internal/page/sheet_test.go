package page_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/vision/take"
)

// ready opens a window with the demo at its moment, and the split chosen.
func ready(t testing.TB, data string, s size) *window {
	w := start(t, data).open(s)
	w.click(w.middle("#demo"))
	w.until(`document.getElementById("print").dataset.sharp === "yes" && document.body.classList.contains("opened")`)
	w.choose("what", "skill fig-women/split-leap")
	w.until(`!document.getElementById("zoom-athlete").disabled`) // where the athlete is is known, and the view goes there with the frame
	frame, _ := demoMarks(t)
	w.goTo(frame)
	return w
}

// place places the demo's marks by mouse.
func (w *window) place(landmarks ...string) {
	w.t.Helper()
	_, marks := demoMarks(w.t)
	for _, l := range landmarks {
		w.pick(l)
		p := w.onPicture(marks[l][0], marks[l][1])
		for was := (at{}); p != was; { // the picture stands still: the view follows the athlete, and the page may scroll
			was = p
			time.Sleep(60 * time.Millisecond)
			p = w.onPicture(marks[l][0], marks[l][1])
		}
		w.click(p)
		w.until(`[...document.querySelectorAll(".handle")].some((h) => h.dataset.key === %q)`, l)
	}
}

// pick chooses a landmark that may be left out, which the page offers but never asks
// for.
func (w *window) pick(landmark string) {
	w.t.Helper()
	if !slices.Contains(asks, landmark) {
		w.until(`document.getElementById("reading").getAttribute("aria-busy") !== "true"`) // it takes the place of what asked
		w.open("placed-fold")
		w.click(w.middle(`[data-pick="` + landmark + `"]`))
	}
}

// open unfolds a part of the page.
func (w *window) open(id string) {
	w.t.Helper()
	js[bool](w, `(document.getElementById(%q).open = true)`, id)
}

// shownMarks returns the marks that the page shows, by name.
func (w *window) shownMarks() map[string]string {
	w.t.Helper()
	w.keysHandled()
	return js[map[string]string](w, `Object.fromEntries([...document.querySelectorAll(".handle")].map((h) => [h.dataset.key, h.getAttribute("aria-label")]))`)
}

func TestReloadInTheMiddle(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	w.place("hip", "front-ankle")
	before := w.shownMarks()
	require.Len(t, before, 2)
	w.saved()
	w.do(chromedp.Reload())
	w.until(`document.documentElement.dataset.ready === "yes" && document.getElementById("print").dataset.sharp === "yes"`)
	assert.Equal(t, before, w.shownMarks())
	assert.Contains(t, w.text("when"), "frame 43")
	assert.Equal(t, "the back ankle", w.text("ask-name"), "it goes on where it was")
	w.place("back-ankle", "shoulder")
	w.read()
	w.onlyOwn()
}

func TestTwoWindowsOnOneTake(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	v := w.another(laptop)
	v.click(v.middle("#shelf button"))
	v.until(`document.getElementById("print").dataset.sharp === "yes"`)
	w.until(`document.getElementById("others").textContent.includes("open in 2 windows")`)
	v.until(`document.getElementById("others").textContent.includes("open in 2 windows")`)
	w.place("hip")
	v.goTo(43)
	v.until(`document.querySelector('.handle[data-key="hip"]')`)
	assert.Equal(t, w.shownMarks(), v.shownMarks())

	// One window is offline and places further marks; the other changes the marks too.
	offline := func(on bool) {
		call(w, network.SetBlockedURLs, network.SetBlockedURLsParams{URLPatterns: []*network.BlockPattern{{URLPattern: w.a.base + "/*", Block: on}}})
	}
	offline(true)
	w.place("front-ankle")
	_, marks := demoMarks(t)
	v.place("front-ankle")
	v.saved()
	v.drag(v.onPicture(marks["hip"][0], marks["hip"][1]), v.onPicture(marks["hip"][0]+40, marks["hip"][1]), 4)
	v.saved()
	theirs := v.shownMarks()
	offline(false)
	w.until(`[...document.querySelectorAll(".notice")].some((n) => n.dataset.key === "clash")`)
	assert.Equal(t, theirs, v.shownMarks(), "nothing was written over")
	assert.NotEqual(t, theirs, w.shownMarks())
	assert.Contains(t, w.text("notices"), "another window changed the marks")
	w.click(w.middle(`.notice[data-key="clash"] button`))
	w.until(`!document.querySelector('.notice[data-key="clash"]')`)
	assert.Equal(t, theirs, w.shownMarks(), "the other window's marks were chosen")
	w.open("placed-fold")
	w.click(w.middle("#undo"))
	assert.NotEqual(t, theirs, w.shownMarks(), "and undo brings our own back")
	w.saved()
	ours := w.shownMarks()
	v.until(`document.querySelector('.handle[data-key="hip"]').getAttribute("aria-label") === %q`, ours["hip"])
}

// TestTwoServers starts two servers without a port: one is chosen for the second.
func TestTwoServers(t *testing.T) {
	t.Parallel()
	path, err := program()
	require.NoError(t, err)
	var at []string
	for range 2 {
		data := t.TempDir()
		a := startAs(t, data, exec.Command(path, "page", "--no-open", "--data", data)).enter()
		at = append(at, a.base)
	}
	assert.NotEqual(t, at[0], at[1])
}

func TestAStoppedServer(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	w := ready(t, data, laptop)
	w.place("hip")
	w.saved()
	w.a.stop()
	w.until(`document.documentElement.dataset.server === "gone"`)
	assert.Contains(t, w.text("notices"), "the server does not answer")
	w.place("front-ankle", "back-ankle", "shoulder") // goes on meanwhile
	assert.Equal(t, "no", js[string](w, `document.documentElement.dataset.saved`))

	_, port, _ := strings.Cut(strings.TrimPrefix(w.a.base, "http://"), ":")
	b := start(t, data, "--port", port)
	require.Equal(t, w.a.base, b.base)
	// The cookie of the former run opens nothing; the address of the new one, in
	// the same browser, lets this window in as well.
	w.until(`document.getElementById("notices").textContent.includes("was started again, and does not know this tab")`)
	assert.Equal(t, "gone", js[string](w, `document.documentElement.dataset.server`))
	b.openIn(w.ctx, laptop)
	w.until(`document.documentElement.dataset.server === "there"`)
	w.read()
	w.saved()
	assert.Empty(t, w.text("notices"))
	w.a = b
	assert.Len(t, w.onServer(43).Marks, 4, "what was placed meanwhile is stored")
	w.do(chromedp.Reload())
	w.until(`document.documentElement.dataset.ready === "yes" && document.getElementById("print").dataset.sharp === "yes"`)
	assert.Len(t, w.shownMarks(), 4)
}

func TestTheAngleFollowsTheFinger(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	w.place(asks...)
	w.read()
	before := w.text("value")
	_, marks := demoMarks(t)
	from := w.onPicture(marks["front-ankle"][0], marks["front-ankle"][1])
	w.mouse(input.DispatchMouseEventTypeMouseMoved, from, 0)
	w.mouse(input.DispatchMouseEventTypeMousePressed, from, 1)
	var seen []string
	for i := 1; i <= 5; i++ {
		w.mouse(input.DispatchMouseEventTypeMouseMoved, at{from.X, from.Y - float64(8*i)}, 1)
		w.until(`document.getElementById("reading").dataset.state === "moving" && document.getElementById("value").textContent !== %q`, append([]string{before}, seen...)[len(seen)])
		seen = append(seen, w.text("value"))
		assert.Empty(t, w.text("plus"), "no uncertainty is shown that is not known yet")
		assert.Equal(t, w.text("value"), js[string](w, `document.querySelector("#tag span").textContent`))
	}
	w.mouse(input.DispatchMouseEventTypeMouseReleased, at{from.X, from.Y - 40}, 0)
	w.read()
	assert.NotEqual(t, before, w.text("value"))
	assert.Contains(t, w.text("plus"), "±")
	w.until(`document.querySelectorAll("#fan .wedge").length === 2`)
}

func TestUndoAndRedoWithoutEnd(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	w.place(asks...)
	w.tabTo(`e.dataset.key === "hip"`)
	for i := range 30 { // thirty moves, each a step of its own
		w.key([]string{kb.ArrowRight, kb.ArrowDown}[i%2], kb.ModifierShift)
		js[bool](w, `(document.querySelector('.handle[data-key="front-ankle"]').focus(), true)`)
		w.key(kb.ArrowLeft)
		js[bool](w, `(document.querySelector('.handle[data-key="hip"]').focus(), true)`)
	}
	const moves = 30
	w.keysHandled()
	moved := w.shownMarks()
	const steps = 3 + 2*moves
	w.hold("z", steps, kb.ModifierCtrl)
	w.until(`document.querySelectorAll(".handle").length === 0`)
	assert.NotEmpty(t, js[string](w, `document.getElementById("what").value`))
	w.key("z", kb.ModifierCtrl) // what is read was chosen before the marks
	w.until(`document.getElementById("what").value === ""`)
	w.hold("y", steps+1, kb.ModifierCtrl)
	w.until(`document.getElementById("redo").disabled`)
	assert.Equal(t, moved, w.shownMarks())
	w.saved()
	w.read()
	w.onlyOwn()
}

func TestPlacingAgain(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	w.place(asks...)
	w.read()
	w.until(`document.querySelector("#fan ellipse")`)
	first := js[float64](w, `Math.max(...[...document.querySelectorAll("#fan ellipse")].map((e) => e.getAttribute("rx")))`)
	_, marks := demoMarks(t)
	for round := 2; round <= 4; round++ {
		w.open("placed-fold")
		w.click(w.middle("#again"))
		assert.Empty(t, w.shownMarks(), "the marks before are hidden")
		assert.Equal(t, "the hip", w.text("ask-name"))
		for i, l := range asks {
			by := float64((i+round)%3-1) * 12
			w.click(w.onPicture(marks[l][0]+by, marks[l][1]-by))
		}
		w.read()
	}
	assert.Equal(t, "4", strconv.Itoa(len(w.onServer(43).Marks)/len(asks)), "every placement is in the marks file")
	w.open("worth")
	assert.Contains(t, w.text("budget"), "the scatter of 4 placements")
	assert.Contains(t, w.text("rounds"), "placed 4 times")
	w.click(w.middle("#repeat-do"))
	w.until(`document.getElementById("repeat-says").textContent.includes("it is not said who placed the marks")`)
	w.do(typed("rater", "Kit\t"))
	w.read()
	w.click(w.middle("#repeat-do"))
	w.until(`document.getElementById("repeat-says").textContent.includes("Kit places a point to")`)
	w.until(`document.getElementById("rater-says").textContent.includes("Kit places marks to")`)
	assert.Equal(t, 3*len(asks), js[int](w, `document.querySelectorAll("#lines .earlier").length`), "the earlier ones show as crosses")
	assert.NotEqual(t, first, js[float64](w, `Math.max(...[...document.querySelectorAll("#fan ellipse")].map((e) => e.getAttribute("rx")))`))
}

func TestALevelLineAndFourCorners(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	w.place(asks...)
	w.read()
	w.showWhole() // the line and the corners lie beside the athlete
	w.open("better")
	w.click(w.middle("#level"))
	w.until(`document.getElementById("now").textContent === "one end of a level line"`)
	w.click(w.onPicture(150, 905))
	w.click(w.onPicture(1700, 850))
	w.click(w.middle("#corners"))
	for _, p := range [][2]float64{{500, 200}, {1400, 200}, {1400, 800}, {500, 800}} {
		w.click(w.onPicture(p[0], p[1]))
	}
	w.until(`!document.getElementById("corner-size").hidden`)
	w.do(typed("wide", "2,4"))
	w.do(typed("high", "1.6\r"))
	w.until(`document.activeElement.blur() || document.getElementById("budget").textContent.includes("corners")`)
	m := w.onServer(43)
	require.NotNil(t, m.Level)
	require.NotNil(t, m.Plane)
	assert.Equal(t, 2.4, m.Plane.WidthM, "a comma may stand for the point")
	assert.InDelta(t, 1400, m.Plane.Corners[1][0], 3)
	assert.Equal(t, "the hip", js[string](w, `(document.getElementById("again").click(), document.getElementById("ask-name").textContent)`))
}

func TestTheLoupeShowsThePixelThatIsMarked(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	w.showWhole()
	k, err := take.Open(t.Context(), demoFile(t))
	require.NoError(t, err)
	defer k.Close()
	f, err := k.Frame(t.Context(), 43)
	require.NoError(t, err)
	img := f.Image()
	for _, p := range [][2]float64{{1255, 517}, {965, 470}, {200, 300}} {
		w.mouse(input.DispatchMouseEventTypeMouseMoved, w.onPicture(p[0], p[1]), 0)
		w.until(`!document.getElementById("loupe").hidden && document.getElementById("loupe").dataset.sharp === "true"`)
		c := js[[]int](w, `(() => { const c = document.getElementById("loupe"); return [...c.getContext("2d").getImageData(c.width / 2, c.height / 2, 1, 1).data.slice(0, 3)]; })()`)
		// A CSS pixel is about two pixels of the take.
		near := false
		for dy := -2; dy <= 2; dy++ {
			for dx := -2; dx <= 2; dx++ {
				q := img.RGBAAt(int(p[0])+dx, int(p[1])+dy)
				near = near || int(q.R) == c[0] && int(q.G) == c[1] && int(q.B) == c[2]
			}
		}
		assert.True(t, near, "at %v the loupe shows %v", p, c)
	}
}

func TestZoomAndPan(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	_, marks := demoMarks(t)
	w.mu.Lock()
	far := false // a frame far from the start has been asked for
	for _, r := range w.requests {
		if m := regexp.MustCompile(`/frames/(\d+)\?w=`).FindStringSubmatch(r); m != nil {
			n, err := strconv.Atoi(m[1])
			require.NoError(t, err)
			far = far || n > 9
			assert.False(t, far && n < 9, "frame %d was fetched ahead although the moment is elsewhere", n)
		}
	}
	w.mu.Unlock()
	assert.True(t, far)
	p := w.onPicture(marks["hip"][0], marks["hip"][1])
	for range 6 {
		w.wheel(p, -300)
	}
	w.until(`!document.getElementById("zoom-all").disabled`)
	// The point under the pointer stayed there, so a click places it as before.
	w.click(p)
	w.until(`document.querySelectorAll(".handle").length === 1`)
	hip := w.onServer(43).Marks[0]
	// the wheel and the click are in whole CSS pixels of the picture as it was
	pixel := js[float64](w, `1920 / document.getElementById("stage").getBoundingClientRect().width`)
	assert.InDelta(t, marks["hip"][0], hip.X, pixel)
	assert.InDelta(t, marks["hip"][1], hip.Y, pixel)
	// A drag pans and places nothing.
	w.drag(at{p.X - 150, p.Y + 60}, at{p.X - 20, p.Y + 110}, 5)
	assert.Len(t, w.shownMarks(), 1)
	now := js[at](w, `(() => { const r = document.querySelector(".handle i").getBoundingClientRect(); return { X: r.left + r.width / 2, Y: r.top + r.height / 2 }; })()`)
	assert.InDelta(t, p.X+130, now.X, 2)
	assert.InDelta(t, p.Y+50, now.Y, 2)
	w.click(w.middle("#zoom-all"))
	w.until(`document.getElementById("zoom-all").disabled`)
	assert.Equal(t, hip, w.onServer(43).Marks[0], "looking closer changes nothing")
}

func TestPinch(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), phone)
	c := w.middle("#print")
	w.fingers(input.DispatchTouchEventTypeTouchStart, at{c.X - 20, c.Y}, at{c.X + 20, c.Y})
	for d := 30.0; d <= 80; d += 10 {
		w.fingers(input.DispatchTouchEventTypeTouchMove, at{c.X - d, c.Y}, at{c.X + d, c.Y})
	}
	w.fingers(input.DispatchTouchEventTypeTouchEnd)
	w.until(`!document.getElementById("zoom-all").disabled`)
	assert.Empty(t, w.shownMarks(), "two fingers place nothing")
}

func TestRefusalsAreShown(t *testing.T) {
	t.Parallel()
	dir, data := t.TempDir(), t.TempDir()
	note := filepath.Join(dir, "note.mp4")
	require.NoError(t, os.WriteFile(note, []byte(strings.Repeat("only words\n", 100)), 0o600))
	w := start(t, data).open(laptop)
	w.do(chromedp.SetUploadFiles(`#file`, []string{note}))
	w.until(`document.getElementById("notices").textContent.includes("note.mp4")`)
	assert.False(t, js[bool](w, `document.body.classList.contains("opened")`))

	clip, _ := demotake.Files()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "cut.mp4"), clip[:len(clip)/2], 0o600))
	w.drop(filepath.Join(dir, "cut.mp4"))
	w.until(`document.getElementById("notices").textContent.includes("breaks off")`)

	require.NoError(t, os.Remove(filepath.Join(data, "takes", w.opened())))
	js[bool](w, `(document.getElementById("strip").focus(), true)`)
	w.hold(kb.PageUp, 2)
	w.until(`document.getElementById("notices").textContent.includes("is no longer in the data folder")`)
	assert.Contains(t, w.text("notices"), "marks are still here")
	w.onlyOwn()
}

func TestSomethingMissingIsSaidInWords(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	w.choose("what", "measure shoulder-flexion")
	_, marks := demoMarks(t)
	for _, l := range []string{"shoulder", "hip"} {
		w.click(w.onPicture(marks[l][0], marks[l][1]))
	}
	w.click(w.onPicture(1100, 300))
	w.until(`document.getElementById("todo").textContent.includes("faces")`)
	assert.NotContains(t, w.text("todo"), "--")
	w.click(w.middle("#facing label:nth-of-type(3)"))
	w.read()
}
