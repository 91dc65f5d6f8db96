package page_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/browsertest"
	"ecart/cmd/internal/trial/desktest"
)

// squadHall are readings of one day: of Wren a gap is shown, of Lio none, Iris shows what is asked, Plover has one condition.
const squadHall = `Wren 2026-03-04 left warm passive hip-split 182 2 180
Wren 2026-03-04 left warm active hip-split 168 2 180
Wren 2026-03-04 left warm in-skill hip-split 166 2 180
Lio 2026-03-04 left warm passive hip-split 179 2 180
Lio 2026-03-04 left warm active hip-split 176 2 180
Iris 2026-03-04 left warm passive hip-split 200 2 180
Iris 2026-03-04 left warm active hip-split 195 2 180
Iris 2026-03-04 left warm in-skill hip-split 190 2 180
Plover 2026-03-04 left warm active hip-split 150 2 180`

// The screens of all, and of the athletes of today's list, are those of 'ecart screen --all' and --squad; both sheets
// have the bytes of 'ecart sheet screens'.
func TestTheSquadsScreens(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	require.NoError(t, desktest.Keep(filepath.Join(data, "ecart.journal"), squadHall))
	a := start(t, data)
	w := a.open(size{1366, 768, false, 1})
	w.athletesPlace("")
	w.until(`document.querySelector("#squad table") !== null`)
	type screens struct {
		Notes, Cautions []string
		Screens         []struct{ Athlete, Side string }
		Without         []struct{ Athlete, Side, Why string } `json:"without_screen"`
	}
	want := fromJSON[screens](t, a.says("screen", "--all", "--movement", "split", "--json"))
	names := func(of screens) (out []string) {
		for _, s := range of.Screens {
			out = append(out, s.Athlete+" "+s.Side)
		}
		return out
	}
	rows := func(w *window) []string {
		return js[[]string](w, `[...document.querySelectorAll("#squad tbody tr:not(.part) th")].map((e) => e.textContent.trim())`)
	}
	assert.Equal(t, []string{"Wren left", "Lio left", "Iris left"}, names(want))
	assert.Equal(t, names(want), rows(w))
	text := w.text("squad")
	for _, n := range want.Without {
		assert.Contains(t, text, n.Athlete)
		assert.Contains(t, text, n.Why)
	}
	js[bool](w, `(document.querySelectorAll("#squad details").forEach((d) => d.open = true), true)`)
	for _, n := range append(want.Notes, want.Cautions...) {
		assert.Contains(t, w.text("squad"), reading.Minus(n))
	}
	assert.Contains(t, w.text("squad"), "□□")
	w.accessible(browsertest.Axe(t), "the squad's screens")
	w.shot("laptop-squad-screens")

	sheet := func(which string) string {
		w.click(w.middle(`[data-sheet="` + which + `"]`))
		w.until(`document.querySelector("#sheets-preview iframe")?.contentDocument?.querySelector("h1") != null`)
		got := get(w, chromedp.Evaluate[string](`fetch(document.querySelector("#sheets-preview iframe").src).then((r) => r.text())`, chromedp.EvalAwaitPromise))
		w.click(w.middle("#sheets-close"))
		return got
	}
	saved := func(args ...string) string {
		out := filepath.Join(t.TempDir(), "page.html")
		a.says(append([]string{"sheet", "screens"}, append(args, "--out", out)...)...)
		data, err := os.ReadFile(out)
		require.NoError(t, err)
		return string(unmarked(data))
	}
	assert.Equal(t, saved("--movement", "split"), sheet("screens"))
	assert.Equal(t, saved("--movement", "split", "--to-take"), sheet("takes"))

	// the athletes of the list that was dropped today, one of whom was never read
	list := "athlete,take,marks\nLio,lio.mp4,\nKit,kit.mp4,\n"
	monday := filepath.Join(t.TempDir(), "monday.csv")
	require.NoError(t, os.WriteFile(monday, []byte(list), 0o600))
	a.enter()
	r := a.do("POST", "/today/list?name=monday.csv", strings.NewReader(list))
	require.Equal(t, 204, r.status)
	w.do(chromedp.Reload())
	w.ready()
	w.until(`document.getElementById("squad-who") !== null`)
	js[bool](w, `(() => { const s = document.getElementById("squad-who"); s.value = "list"; s.dispatchEvent(new Event("change")); return true; })()`)
	w.until(`document.getElementById("squad-all").textContent.includes("Kit")`)
	assert.Equal(t, []string{"Lio left"}, rows(w))
	assert.Contains(t, w.text("squad-all"), "monday, 2 athletes, 1 screen")
	assert.Equal(t, saved(monday, "--movement", "split"), sheet("screens"))
	assert.Equal(t, saved(monday, "--movement", "split", "--to-take"), sheet("takes"))
	w.onlyOwn()

	for _, s := range []struct {
		name string
		size size
	}{{"tablet", size{768, 1024, true, 1}}, {"phone", size{390, 844, true, 2}}} {
		p := a.open(s.size)
		p.athletesPlace("")
		p.until(`document.querySelector("#squad table") !== null`)
		assert.LessOrEqual(t, js[int](p, `document.documentElement.scrollWidth`), int(s.size.w), s.name)
		p.shot(s.name + "-squad-screens")
	}

	for _, bad := range []string{"/screens?movement=flight", "/screens?movement=split&asked=much", "/screens?movement=split&asked=-5"} {
		r := a.do("GET", bad, strings.NewReader(""))
		assert.Contains(t, []int{400, 422}, r.status, bad)
	}
}
