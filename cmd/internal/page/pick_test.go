package page_test

import (
	"testing"

	"ecart/cmd/internal/trial/browsertest"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
)

// What is read is found by words of it or of its rule book, stands under the rule book, and those
// used last stand on top; the closed box says both.
func TestTheListOfWhatIsRead(t *testing.T) {
	t.Parallel()
	axe := browsertest.Axe(t)
	w := start(t, t.TempDir()).open(size{1366, 768, false, 1})
	w.click(w.middle("#demo"))
	w.until(`document.getElementById("print").dataset.sharp === "yes"`)
	w.click(w.middle("#what-open"))
	w.until(`document.querySelectorAll("#what-list [role=group]").length > 4`)
	all := js[int](w, `document.querySelectorAll("#what-list [data-value]").length`)
	assert.Equal(t, js[int](w, `[...document.getElementById("what").options].filter((o) => o.value).length`), all)
	w.accessible(axe, "the list of what is read")
	w.see("what-1366")
	w.do(keys("women dance 180"))
	w.until(`document.querySelectorAll("#what-list [data-value]").length < 6`)
	assert.True(t, js[bool](w, `[...document.querySelectorAll("#what-list [data-value]")].some((o) => o.dataset.value === "skill fig-women/split-leap")`))
	js[bool](w, `(document.querySelector('#what-list [data-value="skill fig-women/split-leap"]').id = "mine", true)`)
	w.click(w.middle("#mine"))
	w.until(`document.getElementById("what").value === "skill fig-women/split-leap" && document.querySelector(".pick-list").hidden`)
	assert.Regexp(t, `women.*:\s+dance element asking a 180 split`, w.text("what-open"))
	assert.Equal(t, "the hip", w.text("ask-name"))
	w.key(kb.ArrowDown) // the focus is on the closed box
	w.until(`document.querySelector("#what-list [role=group] p")?.textContent === "used last"`)
	assert.Equal(t, "skill fig-women/split-leap", js[string](w, `document.querySelector("#what-list [data-value]").dataset.value`))
	w.key(kb.Escape)
	w.until(`document.querySelector(".pick-list").hidden && document.activeElement.id === "what-open"`)
	w.key("z", kb.ModifierCtrl)
	w.until(`document.getElementById("what-open").textContent === "choose"`)
	w.saved()
	w.onlyOwn()

	v := w.a.open(size{390, 844, true, 2})
	v.open("all")
	v.tap(v.middle("#all-what-open"))
	v.until(`document.querySelectorAll("#all-what-list [data-value]").length === %d`, all)
	v.see("what-390")
	v.accessible(axe, "the list on a phone")
	assert.LessOrEqual(t, js[int](v, `document.documentElement.scrollWidth`), 390)
	assert.Empty(t, js[[]string](v, `[...document.querySelectorAll("#all-what-list [data-value]")].filter((e) => e.getBoundingClientRect().height < 44).map((e) => e.outerHTML.slice(0, 80))`))
}
