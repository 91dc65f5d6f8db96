package page_test

import (
	"fmt"
	"testing"

	"ecart/cmd/internal/trial/browsertest"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
)

// accessible checks what the window shows.
func (w *window) accessible(axe, state string) {
	w.t.Helper()
	found, err := browsertest.Violations(w.ctx, axe, 20)
	w.noError(err)
	assert.Empty(w.t, found, "%s", state)
}

func TestAccessibility(t *testing.T) {
	t.Parallel()
	axe := browsertest.Axe(t)
	w := start(t, t.TempDir()).open(laptop)
	w.accessible(axe, "before a take")
	w.click(w.middle("#demo"))
	w.until(`document.getElementById("print").dataset.sharp === "yes"`)
	w.choose("what", "skill fig-women/split-leap")
	frame, _ := demoMarks(t)
	w.goTo(frame)
	js[bool](w, `(document.getElementById("better").open = document.getElementById("keys").open = document.getElementById("take-about").open = document.getElementById("worth").open = true)`)
	w.place("hip", "front-ankle")
	w.accessible(axe, "while marks are placed")
	w.place("back-ankle", "shoulder")
	w.read()
	w.accessible(axe, "with a reading")
	w.a.stop()
	w.until(`document.documentElement.dataset.server === "gone"`)
	w.accessible(axe, "without a server")

	call(w, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}}})
	assert.True(t, js[bool](w, `[...document.querySelectorAll("*")].every((e) => { const s = getComputedStyle(e); return parseFloat(s.transitionDuration) === 0 && s.animationName === "none" && s.scrollBehavior !== "smooth"; })`), "nothing moves by itself where that is asked")
}

// TestWidths writes pictures of the sheet at three widths, for a person to look
// at, and checks what a program can see.
func TestWidths(t *testing.T) {
	t.Parallel()
	first := ready(t, t.TempDir(), size{1024, 768, false, 1})
	first.shot("1024-moment")
	first.place(asks...)
	first.read()
	axe := browsertest.Axe(t)
	for _, s := range []size{{360, 740, true, 2}, {1024, 768, false, 1}, {1920, 1080, false, 1}} {
		w := first.a.open(s)
		name := fmt.Sprint(s.w)
		w.until(`document.querySelector("#shelf li.read") && document.fonts.status === "loaded"`)
		w.keysHandled()
		w.shot(name + "-empty")
		w.click(w.middle("#shelf .print-small"))
		w.read()
		w.until(`document.getElementById("print").dataset.sharp === "yes" && document.fonts.status === "loaded"`)
		assert.LessOrEqual(t, js[int](w, `document.documentElement.scrollWidth`), int(s.w), "at %d px nothing has to be pushed sideways", s.w)
		if s.w == 360 {
			assert.True(t, js[bool](w, `(() => {
				const s = ["moment", "marks", "reading", "placing", "keep", "more"].map((id) => document.getElementById(id).getBoundingClientRect());
				return s.every((r, i) => i === 0 || r.top >= s[i - 1].bottom - 1);
			})()`), "one column, from top to bottom")
			w.accessible(axe, "on a phone")
		}
		// What is to be touched is large enough: 24 CSS pixels (WCAG 2.2, 2.5.8).
		assert.Empty(t, js[[]string](w, `[...document.querySelectorAll("button:not(.handle), select, input:not([type=radio]):not(#file), .choice label, summary")].filter((e) => e.offsetParent && Math.min(e.getBoundingClientRect().width, e.getBoundingClientRect().height) < 24).map((e) => e.outerHTML.slice(0, 80))`))
		js[bool](w, `(window.scrollTo(0, 0), true)`)
		w.shot(name + "-reading")
		w.open("placed-fold")
		w.click(w.middle("#again"))
		_, marks := demoMarks(t)
		w.middle("#print")
		p := w.onPicture(marks["hip"][0], marks["hip"][1])
		if s.touch {
			w.fingers("touchStart", p)
		} else {
			w.mouse("mouseMoved", p, 0)
		}
		w.until(`document.getElementById("loupe").dataset.sharp === "true"`)
		w.shot(name + "-loupe")
		if s.touch {
			w.fingers("touchCancel")
		}
		w.open("placed-fold")
		w.click(w.middle("#undo"))
		w.read()
		w.saved()
	}
}

// A skill is found by words of its name or of its rule book and is listed under the rule book; those
// used last are on top; the closed box shows both names.
func TestSkillList(t *testing.T) {
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

// Everywhere on the page a figure and its unit are on one line.
func TestUnitsStayWithFigures(t *testing.T) {
	t.Parallel()
	w := startHall(t).open(laptop)
	w.athletesPlace("Wren")
	assert.True(t, js[bool](w, `/\d\u00a0%%/.test(document.getElementById("athletes").innerText)`))
	assert.True(t, js[bool](w, `/±\u00a0\d/.test(document.getElementById("athletes").innerText)`))
	assert.Empty(t, js[string](w, `(document.body.innerText.match(/.*(\d (%%|mm\b|px\b|m\b|s\b)|± \d).*/) ?? [""])[0]`))
}
