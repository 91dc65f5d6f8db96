package page_test

import (
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/browsertest"
	"ecart/cmd/internal/trial/desktest"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// positions has readings in several positions.
const positions = `Wren 2026-05-11 left warm passive hip-flexion 90 2 - variant=knee-straight
Wren 2026-05-11 left warm passive hip-flexion 118 2 - variant=knee-bent
Wren 2026-05-11 left warm passive leg-rise 72 2 - variant=front
Wren 2026-05-11 left warm active leg-rise 50 2 - variant=front
Wren 2026-05-11 left warm swung leg-rise 80 2 - variant=front
Wren 2026-05-11 left warm passive leg-rise 20 2 - variant=back`

// A measure in a position is a row of its own, an angle can be asked if its readings have none, and
// two positions that differ in one thing are compared, in the words of the commands.
func TestPositionsAndContrasts(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	require.NoError(t, desktest.Keep(filepath.Join(data, "ecart.journal"), positions))
	a := start(t, data).enter()
	w := a.open(laptop)
	w.athletesPlace("Wren")
	assert.Equal(t, []string{"hip flexion, knee bent", "hip flexion, knee straight", "leg rise, to the back", "leg rise, to the front", "hip flexion, knee straight and bent"},
		js[[]string](w, `[...document.querySelectorAll("#athletes h3")].map((e) => e.textContent)`))
	pair := fromJSON[struct {
		Sides []struct{ Sentence, Separates string }
	}](t, a.output("screen", "Wren", "--contrast", "hip-flexion-knee", "--json"))
	require.Len(t, pair.Sides, 1)
	text := w.text("athletes")
	assert.Contains(t, text, reading.Minus(pair.Sides[0].Sentence))
	assert.Contains(t, text, pair.Sides[0].Separates)

	assert.Contains(t, text, "none of the readings says what is asked")
	js[bool](w, `(document.getElementById("asked-leg-front").value = "75", document.querySelector("form.asked button").click(), true)`)
	w.until(`document.querySelector("[aria-labelledby=m-leg-rise-front] .gaps svg") !== null`)
	screens := fromJSON[struct{ Screens []struct{ Sentence string } }](t, a.output("screen", "Wren", "--movement", "leg-front", "--asked", "75", "--json"))
	assert.Contains(t, w.text("athletes"), reading.Minus(screens.Screens[0].Sentence))
	w.shot("positions")

	for path, words := range map[string]string{
		"/athletes/1/contrast.html?contrast=hip-flexion-knee&for=coach":          "what it cannot say",
		"/athletes/1/gaps.html?movement=leg-front&asked=leg-front:75&for=coach":  "leg held to the front",
		"/athletes/1/months.html?measure=leg-rise&variant=back&for=coach":        "to the back",
		"/athletes/1/gaps.html?movement=leg-front&asked=leg-front:75&for=parent": "with a swing",
	} {
		r := a.do("GET", path, nil)
		assert.Equal(t, http.StatusOK, r.status, "%s: %s", path, r.body)
		assert.Contains(t, strings.ReplaceAll(string(r.body), "\u00a0", " "), words)
	}
	for path, status := range map[string]int{
		"/athletes/1/contrast.html?contrast=knee&for=coach":                 http.StatusBadRequest,
		"/athletes/1/contrast.html?contrast=hip-flexion-knee&for=parent":    http.StatusBadRequest,
		"/athletes/1/contrast.html?contrast=ankle&for=coach":                http.StatusUnprocessableEntity,
		"/athletes/1?wide=110&asked=leg-front:400":                          http.StatusBadRequest,
		"/athletes/1/months.html?measure=leg-rise&variant=bridge&for=coach": http.StatusBadRequest,
	} {
		assert.Equal(t, status, a.do("GET", path, nil).status, path)
	}
	w.onlyOwn()
}

// The protocol of the measure is beside the picture, in the words of 'ecart protocol', for the
// condition and the position that are chosen, and can be printed.
func TestProtocolBesideThePicture(t *testing.T) {
	t.Parallel()
	w := ready(t, t.TempDir(), laptop)
	a := w.a.enter()
	w.until(`!document.getElementById("protocol").hidden`)
	w.open("protocol")
	w.until(`document.querySelectorAll("#protocol-card dt").length > 5`)
	card := fromJSON[struct {
		Lines    []struct{ Text string }
		Cautions []string
	}](t, printed(t, "protocol", "hip-split", "--condition", "passive", "--json"))
	text := w.text("protocol")
	assert.Contains(t, text, card.Lines[0].Text)
	assert.Contains(t, text, card.Cautions[0])
	js[bool](w, `(document.querySelector("#moved input[value=active]").click(), true)`)
	w.until(`document.getElementById("protocol-card").textContent.includes("active split: how far own strength")`)
	w.shot("protocol")
	r := a.do("GET", "/protocol.html?name=hip-split&condition=passive&for=coach", nil)
	assert.Equal(t, http.StatusOK, r.status)
	assert.Contains(t, string(r.body), "cannot pass flat")
	for _, path := range []string{"/protocol?name=cartwheel&condition=passive", "/protocol?name=hip-split", "/protocol.html?name=hip-split&condition=cold&for=coach"} {
		r := a.do("GET", path, nil)
		assert.GreaterOrEqual(t, r.status, 400, path)
		assert.Less(t, r.status, 500, path)
		assert.NotContains(t, string(r.body), "--")
	}
	w.onlyOwn()
}

// printed returns what a command prints that needs no journal.
func printed(t *testing.T, args ...string) string {
	path, err := program()
	require.NoError(t, err)
	out, err := exec.Command(path, args...).Output()
	require.NoError(t, err, "%v", args)
	return string(out)
}

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
	want := fromJSON[screens](t, a.output("screen", "--all", "--movement", "split", "--json"))
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
		a.output(append([]string{"sheet", "screens"}, append(args, "--out", out)...)...)
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
