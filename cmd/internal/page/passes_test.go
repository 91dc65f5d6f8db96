package page_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/browsertest"
	"ecart/cmd/internal/trial/scene"
)

// A clip in which two athletes come by becomes two rows, each at its moment; the names are tapped in order, and what is kept
// are two readings of one clip, half a pass away from each other.
func TestAClipOfTwoPassesIsTwoRows(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	a := withPose(t, data)
	rosterOf(t, data)
	w := &person{window: a.open(size{1366, 768, false, 1})}
	w.sayForAll()
	clip, _ := demotake.Files()
	path := filepath.Join(t.TempDir(), "row.mp4")
	require.NoError(t, scene.Join(t.Context(), clip, path, scene.EmptyHall, scene.WholeLeap, scene.EmptyHall, scene.LeapBack, scene.EmptyHall, scene.LeapBegin))
	w.drop(path)
	rows := `[...document.querySelectorAll("#shelf li.proposed[data-id]")]`
	for end := time.Now().Add(6 * time.Minute); time.Now().Before(end) && !js[bool](w.window, `%s.length === 2`, rows); { // on a busy machine
		time.Sleep(200 * time.Millisecond)
	}
	assert.Equal(t, "#today", js[string](w.window, `location.hash`), "the window leaves the clip that is no row any more")
	files := js[[]string](w.window, `%s.map((li) => li.querySelector(".row-who").innerText)`, rows)
	require.Len(t, files, 2)
	for i, at := range []float64{1.7103, 3.5 + 44.0/30 - 0.7103} {
		assert.Contains(t, files[i], []string{"row.mp4, 1 of 2", "row.mp4, 2 of 2"}[i])
		moment := js[float64](w.window, `Number(/([0-9.]+) s/.exec(%q)[1])`, files[i])
		assert.InDelta(t, at, moment, 0.04)
	}
	assert.Regexp(t, `not read: 6\.\d to 6\.\d s: half a pass: the angle is widest where the clip ends`, files[0], "what is not read is named")
	for _, name := range []string{"Wren", "Lio"} {
		w.press(`#naming-names [data-name="` + name + `"]`)
		w.until(`document.documentElement.dataset.said !== "no" && [...document.querySelectorAll("#shelf .who-name")].some((e) => e.textContent === %q)`, name)
	}
	w.until(`[...document.querySelectorAll("#shelf .who-name")].every((e) => e.textContent !== "who?")`)
	assert.Equal(t, []string{"Wren", "Lio"}, js[[]string](w.window, `[...document.querySelectorAll("#shelf .who-name")].map((e) => e.textContent)`))
	w.shot("passes-today-1366")
	w.accessible(browsertest.Axe(t), "the rows of a clip's passes")
	for _, s := range []size{{768, 1024, true, 1}, {390, 844, true, 2}} {
		p := a.open(s)
		p.until(`%s.length === 2`, rows)
		assert.LessOrEqual(t, js[int](p, `document.documentElement.scrollWidth`), int(s.w))
		p.shot(fmt.Sprintf("passes-today-%d", s.w))
	}

	// each is looked at, confirmed and kept
	w.press("#shelf li:nth-of-type(2) .print-small, #shelf li.proposed .print-small")
	for i := range 2 {
		w.proposedTo(4)
		w.press("#proposed-all")
		w.until(`document.getElementById("reading").dataset.state === "full" && !document.getElementById("keep").hidden && document.getElementById("say").textContent !== "proposed, not confirmed"`)
		if i == 0 {
			w.see("passes-picture-1366")
			w.do(typed("day", "2026-03-02"))
			w.press("#keep-next")
			continue
		}
		w.do(typed("day", "2026-03-02"))
		w.press("#keep-do")
		w.until(`document.getElementById("kept").textContent.startsWith("kept for")`)
	}
	sum := ""
	var frames []int
	for i, name := range []string{"Wren", "Lio"} {
		var k kept
		require.NoError(t, json.Unmarshal([]byte(a.says("journal", "show", []string{"16", "17"}[i], "--json")), &k))
		assert.Equal(t, name, k.Athlete)
		var r reading.Reading
		require.NoError(t, json.Unmarshal(k.Reading, &r))
		frames = append(frames, r.Take.Frame)
		assert.True(t, sum == "" || sum == r.Take.SHA256)
		sum = r.Take.SHA256
	}
	assert.InDelta(t, 51, frames[0], 2)
	assert.InDelta(t, 128, frames[1], 2)
	entries, err := os.ReadDir(filepath.Join(data, "takes"))
	require.NoError(t, err)
	assert.Len(t, entries, 2)
	w.onlyOwn()
}
