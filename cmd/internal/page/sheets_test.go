package page_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/trial/browsertest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// sheetFor chooses in the panel and waits for the preview.
func (w *window) sheetFor(words, reader, paper string) {
	w.t.Helper()
	w.until(`document.getElementById("sheets")?.open`)
	js[bool](w, `(() => {
		const what = document.getElementById("sheets-what");
		what.value = [...what.options].find((o) => o.textContent === %q).value;
		what.dispatchEvent(new Event("change"));
		return true;
	})()`, words)
	w.click(w.middle(fmt.Sprintf(`#sheets-for label:has([value=%q])`, reader)))
	w.click(w.middle(fmt.Sprintf(`#sheets-paper label:has([value=%q])`, paper)))
	w.preview()
}

// preview waits for the sheet that is shown.
func (w *window) preview() {
	w.t.Helper()
	w.until(`document.getElementById("sheets-print")?.disabled === false && document.querySelector("#sheets-preview iframe").contentDocument.querySelector("h1") !== null`)
}

// A parent's sheet is not made as long as it is not known where the head is; a cover drawn by hand
// helps. The preview is what is printed, and the pixels under the cover are not in it.
func TestTheSheetsPanel(t *testing.T) {
	t.Parallel()
	axe := browsertest.Axe(t)
	w := ready(t, t.TempDir(), size{1366, 768, false, 1})
	w.place("hip", "front-ankle", "back-ankle")
	w.read()
	w.do(typed("athlete", "Zoë"))
	w.madeOn("2026-03-20")
	w.click(w.middle("#to-sheet"))
	w.preview()
	assert.Equal(t, "the reading of frame 43", w.text("sheets-h"))
	w.click(w.middle(`#sheets-for label:has([value="parent"])`))
	w.until(`document.getElementById("sheets-says").textContent.includes("draw the cover by hand")`)
	assert.True(t, js[bool](w, `document.getElementById("sheets-print").disabled && document.querySelector('#sheets-head input[value=""]').disabled`))
	assert.NotContains(t, w.text("sheets-says"), "--")
	w.click(w.middle(`#sheets-head label:has([value="hand"])`))
	p := w.middle(".cover-print img")
	w.drag(p, at{p.X + 40, p.Y}, 4)
	w.preview()
	assert.Contains(t, js[string](w, `document.querySelector("#sheets-preview iframe").contentDocument.body.textContent`), "The face is covered")
	assert.Equal(t, "", w.text("sheets-says"))
	cover := func() []float64 {
		return js[[]float64](w, `new URL(document.querySelector("#sheets-preview iframe").src).searchParams.get("cover").split(",").map(Number)`)
	}
	first := cover()
	scale := js[float64](w, `1920 / document.querySelector(".cover-print img").getBoundingClientRect().width`)
	assert.InDelta(t, 960, first[0], 2*scale)
	assert.InDelta(t, 540, first[1], 2*scale)
	assert.InDelta(t, 40*scale, first[2], 2*scale)
	w.drag(p, at{p.X - 30, p.Y - 10}, 4) // moved, not drawn anew
	w.until(`new URL(document.querySelector("#sheets-preview iframe").src).searchParams.getAll("cover").length === 1 && Number(new URL(document.querySelector("#sheets-preview iframe").src).searchParams.get("cover").split(",")[0]) < 900`)
	assert.InDelta(t, first[0]-30*scale, cover()[0], 2*scale)
	w.preview()
	w.see("sheets-1366")
	w.accessible(axe, "the sheets panel")

	js[bool](w, `(document.querySelector("#sheets-preview iframe").contentWindow.print = () => { document.body.dataset.printed = "yes"; }, true)`)
	w.click(w.middle("#sheets-print"))
	w.until(`document.body.dataset.printed === "yes"`)
	w.click(w.middle("#sheets-save"))
	w.until(`document.getElementById("sheets-says").textContent === "saved as reading-hip-split-Zoë-2026-03-20-parent.html"`)
	w.click(w.middle("#sheets-close"))
	w.until(`!document.getElementById("sheets").open`)
	w.onlyOwn()
}

// The panel at three sizes, for a person to look at.
func TestTheSheetsPanelAtThreeWidths(t *testing.T) {
	t.Parallel()
	axe := browsertest.Axe(t)
	a := startHall(t)
	for _, s := range []size{{820, 1180, true, 1}, {390, 844, true, 2}, {320, 640, true, 2}} {
		w := a.open(s)
		w.athletesPlace("Wren")
		w.tap(w.middle(`[data-sheet="months shoulder-flexion"]`))
		w.preview()
		w.see(fmt.Sprintf("sheets-%d", s.w))
		w.accessible(axe, fmt.Sprintf("the sheets panel at %d", s.w))
		assert.LessOrEqual(t, js[int](w, `document.getElementById("sheets").scrollWidth`), int(s.w))
		assert.True(t, js[bool](w, `(() => { const box = document.getElementById("sheets-preview"); return box.querySelector("iframe").getBoundingClientRect().right <= box.getBoundingClientRect().left + box.clientWidth; })()`), "the whole width of the paper shows")
		assert.Empty(t, js[[]string](w, `[...document.querySelectorAll("#sheets :is(button, select, .choice span)")].filter((e) => e.offsetParent && e.getBoundingClientRect().height < 44).map((e) => e.outerHTML.slice(0, 80))`), "what is touched is 44 px high")
		w.onlyOwn()
	}
}

// A sheet for each reader is saved from the page; a parent's has the head covered, and
// none names the take.
func TestSheetsAreSaved(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	a := start(t, t.TempDir()).enter()
	id := a.upload("lena_petersen.mp4", clip)
	require.Equal(t, http.StatusOK, a.do("PUT", "/takes/"+id+"/work", strings.NewReader(workOn(43, 0))).status)
	for reader, want := range map[string]string{"judge": "the rule, in our own words", "athlete": "what this page cannot say", "parent": "The face is covered."} {
		got := a.do("GET", "/takes/"+id+"/frames/43/sheet.html?for="+reader+"&who=Si%3Cb%3Eskin", nil)
		require.Equal(t, http.StatusOK, got.status, "%s", got.body)
		page := string(got.body)
		assert.Contains(t, page, want)
		assert.Contains(t, page, ">Si&lt;b&gt;skin<")
		assert.NotContains(t, page, "lena")
		assert.Equal(t, reader == "parent", strings.Contains(page, "The face is covered."))
	}
	for _, bad := range []string{"?for=coach", "", "?for="} {
		got := a.do("GET", "/takes/"+id+"/frames/43/sheet.html"+bad, nil)
		assert.Equal(t, http.StatusBadRequest, got.status)
		assert.Contains(t, string(got.body), "hint")
	}
	assert.NotEqual(t, http.StatusOK, a.do("GET", "/takes/"+id+"/frames/7/sheet.html?for=judge", nil).status, "nothing is marked there")
}
