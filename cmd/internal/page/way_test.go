package page_test

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
)

// demoMarks are the demo's own marks.
func demoMarks(t testing.TB) (frame int, at map[string][2]float64) {
	_, data := demotake.Files()
	m, err := reading.ParseMarks("the demo's", data)
	require.NoError(t, err)
	at = map[string][2]float64{}
	for _, p := range m.Marks {
		at[p.Landmark] = [2]float64{p.X, p.Y}
	}
	return m.Frame, at
}

// asks is the order in which the page asks for the marks of a split.
var asks = []string{"hip", "front-ankle", "back-ankle"}

// opened returns the id of the take that is open.
func (w *window) opened() string { return js[string](w, `location.hash.slice(1)`) }

// onServer returns the stored marks of a frame.
func (w *window) onServer(frame int) reading.Marks {
	w.t.Helper()
	w.saved()
	r := w.a.enter().do("GET", "/takes/"+w.opened()+"/frames/"+strconv.Itoa(frame)+"/marks.json", nil)
	require.Equal(w.t, 200, r.status, "%s", r.body)
	m, err := reading.ParseMarks("the server's", r.body)
	require.NoError(w.t, err)
	return *m
}

// kept is a reading as the journal has it.
type kept struct {
	ID                                                 int
	Athlete, Day, State, Condition, Setup, Rater, Note string
	Marks, Reading                                     json.RawMessage
}

// inJournal returns the one reading that was kept, as 'ecart journal' prints it.
func inJournal(t testing.TB, data string) (k kept, r reading.Reading) {
	path, err := program()
	require.NoError(t, err)
	journal := func(args ...string) []byte {
		out, err := exec.Command(path, append([]string{"journal", "--journal", filepath.Join(data, "ecart.journal")}, args...)...).Output()
		require.NoError(t, err)
		return out
	}
	var list []struct{ ID int }
	require.NoError(t, json.Unmarshal(journal("list", "--json"), &list))
	require.Len(t, list, 1, "one reading was to be kept")
	require.NoError(t, json.Unmarshal(journal("show", strconv.Itoa(list[0].ID), "--json"), &k))
	require.NoError(t, json.Unmarshal(k.Reading, &r))
	var again struct{ Same int }
	require.NoError(t, json.Unmarshal(journal("recompute", "--json"), &again))
	require.Equal(t, 1, again.Same, "what was kept makes the reading again")
	return k, r
}

// sameAsCommand checks that a kept reading is what `ecart read` prints for the
// kept marks, byte for byte but for white space, and that the page shows it.
func (w *window) sameAsCommand(data, clip string, args ...string) {
	w.t.Helper()
	k, r := inJournal(w.t, data)
	path, err := program()
	require.NoError(w.t, err)
	marks := filepath.Join(w.t.TempDir(), "marks.json")
	require.NoError(w.t, os.WriteFile(marks, k.Marks, 0o600))
	printed, err := exec.Command(path, append([]string{"read", clip, "--marks", marks, "--json"}, args...)...).Output()
	require.NoError(w.t, err)
	assert.Equal(w.t, packed(w.t, printed), packed(w.t, k.Reading))

	value, plus := uncertainty.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
	assert.Equal(w.t, value+"°", w.text("value"))
	assert.Equal(w.t, "± "+plus, w.text("plus"))
	assert.Equal(w.t, strconv.FormatFloat(r.AngleDeg, 'g', -1, 64),
		js[string](w, `String(Number(document.getElementById("reading").dataset.angle))`), "to the last digit")
}

// packed returns JSON without white space; nothing else in it changes.
func packed(t testing.TB, data []byte) string {
	var b bytes.Buffer
	require.NoError(t, json.Compact(&b, data))
	return b.String()
}

// madeOn fills in the day, which is not in the demo's clip.
func (w *window) madeOn(day string) {
	w.t.Helper()
	js[bool](w, `((e) => { e.value = %q; e.dispatchEvent(new Event("input")); return e.value !== ""; })(document.getElementById("day"))`, day)
}

func TestNewcomersWayByMouse(t *testing.T) {
	t.Parallel()
	data, clip := t.TempDir(), demoFile(t)
	w := start(t, data).open(laptop)
	w.drop(clip)
	frame, marks := demoMarks(t)
	w.choose("what", "skill fig-women/split-leap")
	w.choose("camera", "by-eye")
	// along the strip, then step by step
	strip := js[at](w, `(() => { const r = document.getElementById("strip").getBoundingClientRect(); return { X: r.left, Y: r.top + r.height / 2 }; })()`)
	end := js[float64](w, `document.getElementById("strip").getBoundingClientRect().right`)
	w.drag(strip, at{strip.X + (end-strip.X)*float64(frame-4)/89, strip.Y}, 8)
	w.click(w.middle(`[data-step="1"]`))
	w.goTo(frame)
	for _, l := range asks {
		w.click(w.onPicture(marks[l][0], marks[l][1]))
	}
	w.read()
	w.do(typed("athlete", "Wren"))
	w.open("take-about")
	w.click(w.middle("#state label:nth-of-type(3)"))
	w.until(`document.querySelector("#state input:checked").value === "warm"`)
	// the clip has no day on which it was made, and none is assumed
	w.click(w.middle("#keep-do"))
	w.until(`document.getElementById("kept").textContent.startsWith("not kept: the take does not say on which day it was made")`)
	w.until(`document.activeElement.id === "day"`)
	w.madeOn("2999-01-01")
	w.click(w.middle("#keep-do"))
	w.until(`document.getElementById("kept").textContent.startsWith("not kept: the day 2999-01-01 lies ahead of today")`)
	w.madeOn("2026-03-21")
	w.click(w.middle("#keep-do"))
	w.until(`document.getElementById("kept").textContent === "kept for Wren in the journal, as reading 1"`)

	k, _ := inJournal(t, data)
	assert.Equal(t, []string{"Wren", "2026-03-21", "warm", "unknown"}, []string{k.Athlete, k.Day, k.State, k.Condition})
	w.sameAsCommand(data, clip, "--skill", "fig-women/split-leap", "--camera", "by-eye")
	// A click is on a whole CSS pixel, which is less than 3 pixels of the take here.
	for _, p := range w.onServer(frame).Marks {
		assert.InDelta(t, marks[p.Landmark][0], p.X, 3, p.Landmark)
		assert.InDelta(t, marks[p.Landmark][1], p.Y, 3, p.Landmark)
	}
	w.onlyOwn()
}

func TestNewcomersWayByTouch(t *testing.T) {
	t.Parallel()
	data, clip := t.TempDir(), demoFile(t)
	w := start(t, data).open(phone)
	w.tap(w.middle("#demo"))
	w.until(`document.getElementById("print").dataset.sharp === "yes"`)
	frame, marks := demoMarks(t)
	w.choose("what", "skill fig-women/split-leap")
	// the tape is dragged by the finger: 11 px a frame
	for {
		n := js[int](w, `Number(document.getElementById("strip").getAttribute("aria-valuenow"))`)
		if n == frame {
			break
		}
		p := w.middle("#tape")
		by := float64(min(frame-n, 12)) * 11
		w.fingers(input.DispatchTouchEventTypeTouchStart, p)
		w.fingers(input.DispatchTouchEventTypeTouchMove, at{p.X - by/2, p.Y})
		w.fingers(input.DispatchTouchEventTypeTouchMove, at{p.X - by, p.Y})
		w.fingers(input.DispatchTouchEventTypeTouchEnd)
	}
	w.until(`document.getElementById("print").dataset.shown === "%d" && document.getElementById("print").dataset.sharp === "yes"`, frame)
	w.middle("#print")
	for _, l := range asks {
		p := w.onPicture(marks[l][0], marks[l][1])
		w.fingers(input.DispatchTouchEventTypeTouchStart, at{p.X - 6, p.Y - 4})
		w.until(`!document.getElementById("loupe").hidden`)
		w.fingers(input.DispatchTouchEventTypeTouchMove, p)
		w.fingers(input.DispatchTouchEventTypeTouchEnd)
		w.until(`[...document.querySelectorAll(".handle")].some((h) => h.dataset.key === %q)`, l)
	}
	w.read()
	w.do(typed("athlete", "Merlin"))
	w.madeOn("2026-03-21")
	w.tap(w.middle("#keep-do"))
	w.until(`document.getElementById("kept").textContent.startsWith("kept for Merlin")`)
	w.sameAsCommand(data, clip, "--skill", "fig-women/split-leap")
	// A finger's place is exact; a CSS pixel is 5.5 pixels of the take.
	for _, p := range w.onServer(frame).Marks {
		assert.InDelta(t, marks[p.Landmark][0], p.X, 6, p.Landmark)
		assert.InDelta(t, marks[p.Landmark][1], p.Y, 6, p.Landmark)
	}
	w.onlyOwn()
}

func TestNewcomersWayByKeyboardAlone(t *testing.T) {
	t.Parallel()
	data, clip := t.TempDir(), demoFile(t)
	w := start(t, data).open(laptop)
	w.tabTo(`e.id === "demo"`)
	w.key(kb.Enter)
	w.until(`document.getElementById("print").dataset.sharp === "yes"`)
	frame, marks := demoMarks(t)
	w.tabTo(`e.id === "strip"`)
	w.hold(kb.PageUp, frame/10)
	w.hold(kb.ArrowRight, frame%10)
	w.tabTo(`e.id === "what-open"`)
	w.key(kb.Enter)
	w.until(`document.activeElement.type === "search"`)
	w.do(keys("dance element"))
	w.until(`document.querySelectorAll("#what-list [data-value]").length === 1`)
	w.key(kb.Enter)
	w.until(`document.getElementById("what").value === "skill fig-women/split-leap"`)
	w.until(`document.getElementById("now").textContent === "the hip"`)
	js[bool](w, `(document.activeElement.blur(), true)`)
	w.tabTo(`e.id === "stage"`)
	w.until(`document.getElementById("print").dataset.shown === "%d"`, frame)
	cross := [2]float64{960, 540}
	for _, l := range asks {
		for axis, keys := range [][2]string{{kb.ArrowRight, kb.ArrowLeft}, {kb.ArrowDown, kb.ArrowUp}} {
			for _, by := range []struct {
				px   float64
				with []kb.Modifier
			}{{40, []kb.Modifier{kb.ModifierCtrl}}, {4, []kb.Modifier{kb.ModifierShift}}, {0.25, nil}} {
				d := marks[l][axis] - cross[axis]
				k := keys[0]
				if d < 0 {
					k, d = keys[1], -d
				}
				n := int(d / by.px)
				w.hold(k, n, by.with...)
				if k == keys[1] {
					n = -n
				}
				cross[axis] += float64(n) * by.px
			}
		}
		w.key(kb.Enter)
	}
	w.read()
	w.tabTo(`e.id === "athlete"`)
	w.do(keys("Plover"))
	w.tabTo(`e.id === "day"`)
	w.do(keys("03212026")) // month, day, year: the browser of the tests speaks American English
	w.tabTo(`e.id === "keep-do"`)
	w.key(kb.Enter)
	w.until(`document.getElementById("kept").textContent.startsWith("kept for Plover")`)
	k, _ := inJournal(t, data)
	assert.Equal(t, "2026-03-21", k.Day)
	w.sameAsCommand(data, clip, "--skill", "fig-women/split-leap")
	// The cross moves by a quarter pixel.
	for _, p := range w.onServer(frame).Marks {
		assert.InDelta(t, marks[p.Landmark][0], p.X, 0.25, p.Landmark)
		assert.InDelta(t, marks[p.Landmark][1], p.Y, 0.25, p.Landmark)
	}
	w.onlyOwn()
}
