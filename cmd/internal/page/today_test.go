package page_test

import (
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/trial/browsertest"
	"ecart/cmd/internal/trial/desktest"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// copies writes takes of the demo's clip under the given names; they differ by a box that players skip (ISO/IEC 14496-12,
// 8.1.2).
func copies(t testing.TB, names ...string) (paths []string) {
	clip, _ := demotake.Files()
	return copiesOf(t, clip, names...)
}

// leaps are copies of the leap alone, which is looked through in a third of the time.
func leaps(t testing.TB, names ...string) (paths []string) {
	clip, err := leapOnly()
	require.NoError(t, err)
	return copiesOf(t, clip, names...)
}

func copiesOf(t testing.TB, clip []byte, names ...string) (paths []string) {
	dir := t.TempDir()
	for i, name := range names {
		own := append(append([]byte{}, clip...), 0, 0, 0, 12, 'f', 'r', 'e', 'e', 0, 0, 0, byte(i))
		paths = append(paths, filepath.Join(dir, name))
		require.NoError(t, os.WriteFile(paths[i], own, 0o600))
	}
	return paths
}

// dropAll drops files on the page, and waits until their rows are there.
func (w *window) dropAll(rows int, paths ...string) {
	w.t.Helper()
	w.do(chromedp.SetUploadFiles(`#file`, paths))
	w.until(`document.querySelectorAll("#shelf li[data-id]").length === %d && !document.querySelector("#coming li") && document.getElementById("arriving").hidden`, rows)
}

// markLeap places the demo's marks on the leap that is open.
func (w *window) markLeap() {
	w.t.Helper()
	frame, _ := demoMarks(w.t)
	w.goTo(frame - leapFrom)
	w.place(asks...)
	w.read()
	w.saved()
}

// row returns the text of a part of a take's row.
func (w *window) row(file, part string) string {
	w.t.Helper()
	return js[string](w, `[...document.querySelectorAll("#shelf li[data-id]")].find((li) => li.querySelector(".row-who").innerText.includes(%q)).querySelector(%q).innerText`, file, part)
}

// The place for today at three sizes, at 320 px and at twice the size of letters: pictures for a person to look
// at, and what a program can check.
func TestTodayAtManySizes(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	rosterOf(t, data)
	first := start(t, data).open(size{1366, 768, false, 1})
	first.setForAll()
	files := leaps(t, "a.mp4", "b.mp4", "c.mp4", "d.mp4")
	first.dropAll(4, files...)
	first.click(first.middle(`#naming-names [data-name="Wren"]`))
	first.until(`document.querySelector("#shelf .who-name").textContent === "Wren" && document.querySelector(".to-name .faint").textContent.startsWith("b.mp4")`)
	first.click(first.middle("#to-next"))
	first.takeReady("a.mp4")
	first.markLeap()
	first.click(first.middle("#keep-next"))
	first.takeReady("b.mp4")
	first.markLeap()
	first.click(first.middle("#to-today"))
	axe := browsertest.Axe(t)
	for _, s := range []size{{1366, 768, false, 1}, {820, 1180, true, 1}, {390, 844, true, 2}, {320, 640, true, 2}, {683, 384, false, 2}} {
		w := first.a.open(s)
		w.until(`document.querySelectorAll("#shelf li.kept, #shelf li.read").length === 2 && document.fonts.status === "loaded"`)
		w.keysHandled()
		w.shot(fmt.Sprintf("today-%d", s.w))
		assert.LessOrEqual(t, js[int](w, `document.documentElement.scrollWidth`), int(s.w), "at %d px nothing has to be pushed sideways", s.w)
		w.accessible(axe, fmt.Sprintf("today at %d px", s.w))
		w.open("all")
		w.accessible(axe, fmt.Sprintf("what is said for all, at %d px", s.w))
		assert.LessOrEqual(t, js[int](w, `document.documentElement.scrollWidth`), int(s.w))
		if s.touch {
			assert.Empty(t, js[[]string](w, `[...document.querySelectorAll("#take button, #take select, #take input:not([type=file]), #take summary")].filter((e) => e.offsetParent && e.getBoundingClientRect().height < 40).map((e) => e.outerHTML.slice(0, 90))`), "touch targets at %d px", s.w)
		}
		w.shot(fmt.Sprintf("today-all-%d", s.w))
		w.click(w.middle("#shelf li:nth-of-type(4) .print-small"))
		w.takeReady("c.mp4")
		if s.w <= 520 {
			assert.True(t, w.inSight("who-names"), "the names to tap at %d by %d", s.w, s.h)
		}
		w.shot(fmt.Sprintf("today-who-%d", s.w))
		w.see(fmt.Sprintf("today-who-seen-%d", s.w))
		w.accessible(axe, fmt.Sprintf("names to tap at %d px", s.w))
		w.onlyOwn()
	}
}

// Of several files none vanishes without a word: takes become rows as they come, and files that are
// no takes or are there already are named.
func TestSeveralFilesAtOnce(t *testing.T) {
	t.Parallel()
	w := start(t, t.TempDir()).open(laptop)
	paths := leaps(t, "wren.mp4", "kit.mp4", "lio.mp4")
	again := filepath.Join(t.TempDir(), "again.mp4")
	same, err := os.ReadFile(paths[0])
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(again, same, 0o600))
	note := filepath.Join(t.TempDir(), "notes.txt")
	require.NoError(t, os.WriteFile(note, []byte("no take at all"), 0o600))
	w.dropAll(3, append(paths, again, note)...)
	w.until(`document.querySelector(".notice")`)
	said := js[string](w, `document.querySelector(".notice").innerText`)
	assert.Contains(t, said, "again.mp4 is the same take as wren.mp4")
	assert.Contains(t, said, "notes.txt")
	assert.Equal(t, []string{"again.mp4", "kit.mp4", "lio.mp4"}, slices.Sorted(slices.Values(js[[]string](w, `[...document.querySelectorAll("#shelf .row-who .faint")].map((e) => e.textContent)`))))
	assert.Contains(t, js[string](w, `document.getElementById("headline").textContent`), "3 takes, 0 kept")
	assert.Contains(t, w.row("kit.mp4", ".row-state"), "missing: who it is; the day; what is read")
	w.onlyOwn()
}

// A value for all takes holds until it is changed, over a reload and in another
// window; another value of one take stays, and kept readings do not change.
func TestValuesForAllTakes(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	w := start(t, data).open(laptop)
	w.dropAll(3, leaps(t, "a.mp4", "b.mp4", "c.mp4")...)
	w.setForAll()
	w.click(w.middle("#shelf li button"))
	w.takeReady("a.mp4")
	assert.Equal(t, []string{"skill fig-women/split-leap", "by-eye", "6", "felt", "Iris", "tripod by the mat", "2026-03-02"},
		js[[]string](w, `["what", "camera", "distance", "found", "rater", "setup", "day"].map((f) => document.getElementById(f).value)`))
	w.markLeap()
	w.do(typed("athlete", "Wren"))
	w.saved()
	w.click(w.middle("#keep-next"))

	w.takeReady("b.mp4")
	assert.Empty(t, js[string](w, `document.getElementById("athlete").value`), "the last athlete's name does not stay")
	w.open("better")
	w.choose("camera", "squared")
	w.markLeap()
	w.do(chromedp.Reload())
	w.ready()
	w.until(`document.getElementById("headline").textContent.startsWith("b.mp4")`)
	w.read()
	assert.Equal(t, "squared", js[string](w, `document.getElementById("camera").value`))
	w.click(w.middle("#to-today"))
	w.until(`document.getElementById("all-says").textContent.includes("camera squared")`)

	// the values of one take are those of the takes that are opened after it
	w.open("all")
	w.choose("all-state", "cold")
	w.until(`document.documentElement.dataset.said === "yes" && document.getElementById("all-says").textContent.includes(" cold ")`)
	v := w.another(laptop)
	v.until(`document.getElementById("all-says").textContent.includes(" cold ")`)
	v.click(v.middle(`#shelf li[data-id]:nth-of-type(4) button`))
	v.takeReady("c.mp4")
	assert.Equal(t, "squared", js[string](v, `document.getElementById("camera").value`))
	assert.Equal(t, "cold", js[string](v, `document.querySelector("#state input:checked").value`))
	k, _ := inJournal(t, data)
	assert.Equal(t, []string{"Wren", "2026-03-02", "warm", "in-skill", "tripod by the mat", "Iris"}, []string{k.Athlete, k.Day, k.State, k.Condition, k.Setup, k.Rater})
	assert.Equal(t, "by-eye", fromJSON[struct{ Request struct{ Camera string } }](t, w.a.output("journal", "show", "1", "--json")).Request.Camera)
	w.onlyOwn()
	v.onlyOwn()
}

// The page asks about a new name if it is one slip of typing away from a known one, but not
// if two names are merely short.
func TestSimilarNames(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	require.NoError(t, desktest.Keep(filepath.Join(data, "ecart.journal"), "Wren 2026-01-12 - warm in-skill hip-split 158 3 180\nKit 2026-01-12 - warm in-skill hip-split 158 3 180"))
	w := start(t, data).open(laptop)
	w.dropAll(3, leaps(t, "a.mp4", "b.mp4", "c.mp4")...)
	w.do(typed("naming-name", "Lio"))
	w.key(kb.Enter)
	w.until(`document.querySelector("#naming-names [data-name=Lio]") && document.documentElement.dataset.said === "yes"`)
	assert.True(t, js[bool](w, `document.getElementById("naming-alike").hidden`), "Lio is not Kit")
	w.do(typed("naming-name", "Wern"))
	w.key(kb.Enter)
	w.until(`!document.getElementById("naming-alike").hidden`)
	assert.Contains(t, w.text("naming-alike"), "Wern is new, and there is Wren")
	w.click(w.middle("#naming-alike button"))
	w.until(`[...document.querySelectorAll("#shelf .who-name")].map((e) => e.textContent).join() === "Lio,Wren,who?"`)
	assert.False(t, js[bool](w, `Boolean(document.querySelector('#naming-names [data-name="Wern"]'))`), "nobody of that name is on the roster")
	// beside the picture as well
	w.click(w.middle("#shelf li:nth-of-type(3) button"))
	w.until(`document.body.classList.contains("opened") && !document.getElementById("who").hidden`)
	w.click(w.middle(`#who-names [data-name="Kit"]`))
	w.until(`document.getElementById("athlete").value === "Kit" && document.documentElement.dataset.said === "yes"`)
	w.click(w.middle("#to-today"))
	w.until(`[...document.querySelectorAll("#shelf .who-name")].map((e) => e.textContent).join() === "Lio,Wren,Kit"`)
	w.onlyOwn()
}

// A session's list names athletes and marks for takes that are dropped with it, before it or after
// it; a take that was not dropped, and a fault in the list, is a row of its own.
func TestAListIsDropped(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	_, marks := demotake.Files()
	at := filepath.Join(dir, "leap.marks.json")
	require.NoError(t, os.WriteFile(at, marks, 0o600))
	list := filepath.Join(dir, "monday.csv")
	require.NoError(t, os.WriteFile(list, []byte("athlete;take;marks;skill;state;day;mood\n"+
		"Wren;clips/wren.mp4;leap.marks.json;fig-women/split-leap;warm;2.3.2026;good\nKit;kit.mp4;kit.json;fig-women/split-leap;;2026-03-02;\nLio;lio.mp4;leap.marks.json;fig-women/split-leap;;2026-03-02;\nHeron;heron.mp4;;;;;\n"), 0o600))
	paths := copies(t, "WREN.MP4", "kit.mp4", "lio.mp4")
	w := start(t, t.TempDir()).open(laptop)
	w.dropAll(2, paths[0], paths[1], list, at)
	w.until(`document.querySelector("#shelf li.read")`)
	assert.Equal(t, []string{"Wren", "Kit", "Lio", "Heron"}, js[[]string](w, `[...document.querySelectorAll("#shelf .who-name")].map((e) => e.textContent)`))
	assert.Contains(t, w.row("WREN.MP4", ".row-state"), "read, not kept")
	assert.NotContains(t, w.row("WREN.MP4", ".row-state"), "missing")
	assert.Equal(t, "164.0°", w.row("WREN.MP4", ".row-value")) // with the shoulder, which the marks have
	assert.Contains(t, w.row("kit.mp4", ".row-state"), "marks: hip, front ankle, back ankle")
	says := js[[]string](w, `[...document.querySelectorAll("#shelf li.absent")].map((li) => li.innerText.replace(/\s+/g, " "))`)
	require.Len(t, says, 2)
	assert.Contains(t, says[0], "Lio lio.mp4 was not dropped the take: drop it here")
	assert.Contains(t, says[1], "Heron line 5 of the list the row does not say where the marks come from")
	assert.Contains(t, w.text("list-says"), `the list monday.csv; the column "mood" is not known and is not read`)
	w.do(chromedp.SetUploadFiles(`#file`, []string{paths[2]})) // a single take opens
	w.until(`document.body.classList.contains("opened")`)
	w.read()
	assert.Equal(t, "Lio", js[string](w, `document.getElementById("athlete").value`))
	w.click(w.middle("#to-today"))
	w.until(`document.querySelectorAll("#shelf li.read").length === 2 && document.querySelectorAll("#shelf li.absent").length === 1`)
	assert.Equal(t, "Lio", w.row("lio.mp4", ".who-name"))
	w.onlyOwn()
}

// Where frames are counted from 0, the last number is shown, and one frame is in the singular.
func TestTheLastFrameAndOneFrame(t *testing.T) {
	t.Parallel()
	w := start(t, t.TempDir()).open(laptop)
	w.click(w.middle("#demo"))
	w.until(`document.getElementById("print").dataset.sharp === "yes"`)
	js[bool](w, `(document.getElementById("strip").focus(), true)`)
	w.key(kb.End)
	w.until(`document.getElementById("when").textContent.startsWith("frame 89,")`)
	assert.Equal(t, "frame 89, 1.483 s; the last is 89", w.text("when"))
	assert.Equal(t, "89", js[string](w, `document.getElementById("strip").getAttribute("aria-valuemax")`))

	one := filepath.Join(t.TempDir(), "one.mp4")
	out, err := exec.Command("ffmpeg", "-v", "error", "-i", demoFile(t), "-frames:v", "1", "-c:v", "libx264", "-pix_fmt", "yuv420p", one).CombinedOutput()
	require.NoError(t, err, "%s", out)
	w.do(chromedp.SetUploadFiles(`#file`, []string{one}))
	w.until(`document.getElementById("headline").textContent.startsWith("one.mp4") && document.getElementById("print").dataset.sharp === "yes"`)
	assert.Contains(t, w.text("headline"), " 1 frame,")
	assert.NotContains(t, js[string](w, `document.body.innerText`), "1 frames")
}

// Kept readings are looked up only for the takes of the list: a journal of
// hundreds of others makes it hardly slower.
func TestTheListDoesNotReadTheWholeJournal(t *testing.T) {
	t.Parallel()
	few, many := t.TempDir(), t.TempDir()
	const readings = 400
	lines := []string{}
	for i := range readings {
		lines = append(lines, fmt.Sprintf("Wren 2025-%02d-%02d - warm in-skill hip-split %d 3 180", 1+i/28%12, 1+i%28, 150+i/336)) // all of one athlete: the page lists every name
	}
	require.NoError(t, desktest.Keep(filepath.Join(few, "ecart.journal"), lines[0]))
	require.NoError(t, desktest.Keep(filepath.Join(many, "ecart.journal"), strings.Join(lines, "\n")))
	paths := []string{"/takes", "/today"}
	least := func(data string) (out [2]time.Duration) {
		a := start(t, data).enter()
		clip, _ := demotake.Files()
		a.upload("leap.mp4", clip)
		for i, path := range paths {
			out[i] = time.Hour
			for range 12 {
				began := time.Now()
				require.Equal(t, http.StatusOK, a.do("GET", path, nil).status)
				out[i] = min(out[i], time.Since(began))
			}
		}
		return out
	}
	a, b := least(few), least(many)
	for i, path := range paths {
		t.Logf("%s: %v with one reading, %v with %d", path, a[i], b[i], readings)
		assert.Less(t, b[i], 3*a[i]+15*time.Millisecond, path)
	}
}

// A folder is dropped with all files in it and in its folders; files that systems leave there are
// neither takes nor errors.
func TestAFolderIsDropped(t *testing.T) {
	t.Parallel()
	w := start(t, t.TempDir()).open(laptop)
	hall := filepath.Join(t.TempDir(), "hall")
	require.NoError(t, os.MkdirAll(filepath.Join(hall, "later"), 0o700))
	for i, path := range leaps(t, "c2.mp4", "c10.mp4", "c1.mp4") {
		require.NoError(t, os.Rename(path, filepath.Join(hall, []string{"c2.mp4", "c10.mp4", "later/c1.mp4"}[i])))
	}
	require.NoError(t, os.WriteFile(filepath.Join(hall, "Thumbs.db"), []byte("x"), 0o600))
	p := w.middle("#drop")
	for _, kind := range []input.DispatchDragEventType{input.DispatchDragEventTypeDragEnter, input.DispatchDragEventTypeDragOver, input.DispatchDragEventTypeDrop} {
		call(w, input.DispatchDragEvent, input.DispatchDragEventParams{Type: kind, X: p.X, Y: p.Y, Data: &input.DragData{Items: []*input.DragDataItem{}, Files: []string{hall}, DragOperationsMask: 1}})
	}
	w.until(`document.querySelectorAll("#shelf li[data-id]").length === 3 && !document.querySelector("#coming li")`)
	assert.Equal(t, []string{"c2.mp4", "c10.mp4", "c1.mp4"}, js[[]string](w, `[...document.querySelectorAll("#shelf .row-who .faint")].map((e) => e.textContent)`), "in the order of their names, folder by folder")
	assert.False(t, js[bool](w, `Boolean(document.querySelector(".notice"))`))
	w.onlyOwn()
}
