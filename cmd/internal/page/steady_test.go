package page_test

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/network"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// watchRows records at each painted frame the places of the rows of today, px from the top of the page, and
// their states.
const watchRows = `window.rowsSeen = {}; (function look() {
	for (const li of document.querySelectorAll("#shelf li[data-id]")) {
		const seen = rowsSeen[li.dataset.id] ??= { tops: [], states: [] }, top = Math.round(li.getBoundingClientRect().top + scrollY);
		if (document.body.classList.contains("opened")) continue;
		if (seen.tops.at(-1) !== top) seen.tops.push(top);
		if (!seen.states.includes(li.classList[0])) seen.states.push(li.classList[0]);
	}
	requestAnimationFrame(look);
})()`

// steady checks that no row of today has moved since watchRows began, and that each was in all of the states. The
// page as it is now is painted first, so that it is among what was watched.
func (w *window) steady(states ...string) {
	w.t.Helper()
	w.keysHandled()
	type row struct {
		Tops   []int
		States []string
	}
	for id, seen := range js[map[string]row](w, `rowsSeen`) {
		assert.Len(w.t, seen.Tops, 1, "row %s stood at these heights, in the states %v", id, seen.States)
		for _, s := range states {
			assert.Contains(w.t, seen.States, s, "row %s", id)
		}
	}
}

// Nothing in the place for today moves when a reading comes: a row has space from the start for its ruler, its words and the
// heading of the rulers. So a click lands on what it was aimed at.
func TestNoRowMovesWhileReadingsArrive(t *testing.T) {
	t.Parallel()
	frame, marks := demoMarks(t)
	for _, s := range []size{{1024, 633, false, 1}, {820, 1180, true, 1}, {320, 640, true, 2}} {
		a := start(t, t.TempDir()).enter()
		a.script = watchRows
		for i, path := range leaps(t, "a.mp4", "b.mp4", "c.mp4", "d.mp4") {
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			id := a.upload(filepath.Base(path), data)
			if i == 3 {
				continue // nothing is marked
			}
			work := fmt.Sprintf(`{"version": 0, "skill": "fig-women/split-leap", "measure": "hip-split", "camera": "by-eye", "frame": %d, "frames": {"%d": {"rounds": [%s]}}}`, frame-leapFrom, frame-leapFrom, jsonOf(marks))
			r := a.do("PUT", "/takes/"+id+"/work", strings.NewReader(work))
			require.Equal(t, http.StatusOK, r.status, "%s", r.body)
		}
		w := a.open(s)
		w.until(`document.querySelectorAll("#shelf li.read").length === 3`)
		w.steady()
		w.shot(fmt.Sprintf("steady-%d", s.w)) // which moves all for a moment
		w.onlyOwn()
	}
}

// Until the first picture of a take is there, the page reports none as shown: neither is one of the take before.
func TestOpenedTakeShowsNoEarlierPicture(t *testing.T) {
	t.Parallel()
	w := start(t, t.TempDir()).open(laptop)
	w.dropAll(2, leaps(t, "a.mp4", "b.mp4")...)
	w.setForAll()
	w.click(w.middle("#shelf li[data-id] button"))
	w.takeReady("a.mp4")
	w.goTo(15)
	call(w, network.SetBlockedURLs, network.SetBlockedURLsParams{URLPatterns: []*network.BlockPattern{{URLPattern: w.a.base + "/takes/*/frames/*", Block: true}}})
	w.click(w.middle("#to-today"))
	w.click(w.middle("#shelf li[data-id] ~ li[data-id] button"))
	w.until(`document.getElementById("headline").textContent.startsWith("b.mp4")`)
	w.keysHandled()
	assert.Empty(t, js[string](w, `document.getElementById("print").dataset.shown ?? ""`))
	assert.Empty(t, js[string](w, `document.getElementById("print").dataset.sharp ?? ""`))
}

// The notice that a take is open in a second window is at the foot of the first: its picture does not move.
func TestASecondWindowMovesNothingInTheFirst(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), size{1024, 633, false, 1})
	top := func() float64 {
		return js[float64](w, `document.getElementById("print").getBoundingClientRect().top + scrollY`)
	}
	before := top()
	v := w.another(size{1024, 633, false, 1})
	v.click(v.middle("#shelf li[data-id] button"))
	w.until(`document.getElementById("others").textContent.includes("2 windows")`)
	assert.Equal(t, before, top())
	assert.True(t, w.inSight("others"))
	w.see("two-windows-1024")
	w.onlyOwn()
}
