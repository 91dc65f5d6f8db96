package page_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A rule about legs apart in shoulder widths is chosen as a skill and its outcome stands where a verdict does,
// with no angle asked.
func TestLegsApartOnThePage(t *testing.T) {
	t.Parallel()
	for _, s := range []size{laptop, {820, 1180, true, 1}, phone} {
		w := start(t, t.TempDir()).open(s)
		w.click(w.middle("#demo"))
		w.until(`document.getElementById("print").dataset.sharp === "yes" && document.body.classList.contains("opened")`)
		w.choose("what", "skill fig-women/legs-apart")
		w.showWhole()
		for _, m := range []struct {
			landmark string
			x, y     float64
		}{{"right-hip", 910, 500}, {"left-hip", 1010, 500}, {"right-ankle", 810, 940}, {"left-ankle", 1110, 940}, {"right-shoulder", 860, 240}, {"left-shoulder", 1060, 240}} {
			w.until(`document.getElementById("now").textContent.includes(%q)`, strings.Replace(m.landmark, "-", " ", 1)) // the shoulders too, which the angle does not need
			w.click(w.onPicture(m.x, m.y))
			w.until(`[...document.querySelectorAll(".handle")].some((h) => h.dataset.key === %q)`, m.landmark)
		}
		w.read()
		w.until(`!document.getElementById("bands").hidden`)
		assert.Contains(t, w.text("say"), "0.30 (")
		assert.Contains(t, w.text("say-degrees"), "shoulder widths apart")
		w.open("worth")
		assert.Contains(t, w.text("origin"), "fig-women/legs-apart")
		assert.Contains(t, w.text("bands"), "over 1 shoulder widths")
		assert.True(t, js[bool](w, `document.getElementById("asked").hidden`), "no angle is asked")
		w.shot(fmt.Sprintf("apart-%d", s.w))
		w.onlyOwn()
	}
}
