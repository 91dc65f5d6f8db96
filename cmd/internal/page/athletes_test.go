package page_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/browsertest"
	"ecart/cmd/internal/trial/desktest"
)

// hall has the readings of a hall's journal over some months, in the form that desktest.Entry reads.
const hall = `Wren 2026-01-12 left warm active shoulder-flexion 158 1.7 180
Wren 2026-02-09 left warm active shoulder-flexion 161 1.7 180
Wren 2026-03-09 left warm active shoulder-flexion 164 1.7 180
Wren 2026-04-13 left warm active shoulder-flexion 166 1.7 180
Wren 2026-05-11 left warm active shoulder-flexion 169 1.7 180
Wren 2026-04-13 right warm active shoulder-flexion 172 1.7 180
Wren 2026-05-11 right warm active shoulder-flexion 174 1.7 180
Wren 2026-05-11 left warm passive shoulder-flexion 178 1.7 180
Wren 2026-05-11 left warm in-skill shoulder-flexion 158 1.7 180
Wren 2026-02-02 - warm in-skill hip-split 158 3 180
Wren 2026-03-02 - warm in-skill hip-split 161 3 180
Lio 2026-03-02 - warm in-skill hip-split 171 3 180
Iris 2026-03-02 - - - hip-split 150 3 -`

// startHall starts a page whose journal has the hall's readings.
func startHall(t *testing.T) *app {
	data := t.TempDir()
	require.NoError(t, desktest.Keep(filepath.Join(data, "ecart.journal"), hall))
	return start(t, data)
}

// output returns what a command prints about the page's journal.
func (a *app) output(args ...string) string {
	a.t.Helper()
	path, err := program()
	require.NoError(a.t, err)
	out, err := exec.Command(path, append(args, "--journal", filepath.Join(a.data, "ecart.journal"))...).Output()
	require.NoError(a.t, err, "%v", args)
	return string(out)
}

func fromJSON[T any](t *testing.T, text string) (v T) {
	require.NoError(t, json.Unmarshal([]byte(text), &v))
	return v
}

// changeOf is the result of 'ecart change --json'.
type changeOf struct {
	Trends []struct{ Sentence string }
	Sides  *struct{ Sentence string }
}

// athletesPlace goes to the roster by its link, and to an athlete by the name.
func (w *window) athletesPlace(name string) {
	w.t.Helper()
	w.click(w.middle("#to-athletes"))
	w.until(`location.hash === "#athletes" && document.querySelector(".names a, .empty, #athletes .wrong") !== null`)
	if name == "" {
		return
	}
	js[bool](w, `([...document.querySelectorAll(".names a")].find((a) => a.querySelector(".name").textContent === %q).id = "chosen", true)`, name)
	w.click(w.middle("#chosen"))
	w.until(`document.getElementById("athletes-h").textContent === %q && document.querySelector(".rows li") !== null`, name)
}

func TestTheRoster(t *testing.T) {
	t.Parallel()
	w := startHall(t).open(laptop)
	w.athletesPlace("")
	assert.Equal(t, [][]string{
		{"Iris", "hip split 150.0° ± 5.9 on 2 March 2026", "1 reading on 1 day"},
		{"Lio", "hip split 171.0° ± 5.9 on 2 March 2026", "1 reading on 1 day"},
		{"Wren", "shoulder flexion 158.0° ± 3.4 on 11 May 2026", "11 readings on 7 days"},
	}, js[[][]string](w, `[...document.querySelectorAll(".names a")].map((a) => [...a.children].map((c) => c.textContent))`))
	assert.NotContains(t, js[string](w, `[...document.querySelectorAll(".names a")].map((a) => a.href).join()`), "Wren", "no address has a name")

	// an address of its own, back and forward, and by keyboard alone
	w.tabTo(`e.matches(".names a") && e.textContent.startsWith("Lio")`)
	w.key(kb.Enter)
	w.until(`document.getElementById("athletes-h").textContent === "Lio"`)
	js[bool](w, `(history.back(), true)`)
	w.until(`document.querySelectorAll(".names a").length === 3`)
	js[bool](w, `(history.forward(), true)`)
	w.until(`document.getElementById("athletes-h").textContent === "Lio"`)
	w.do(chromedp.Reload())
	w.ready()
	w.until(`document.getElementById("athletes-h").textContent === "Lio"`)
	w.click(w.middle("#to-today"))
	w.until(`document.getElementById("drop").offsetParent !== null && document.getElementById("athletes").offsetParent === null`)
	w.onlyOwn()
}

// The months are those of 'ecart change', word for word, and the gaps those of 'ecart screen'.
func TestTheMonths(t *testing.T) {
	t.Parallel()
	a := startHall(t)
	w := a.open(laptop)
	w.athletesPlace("Wren")
	text := w.text("athletes")
	for _, measure := range []string{"shoulder-flexion", "hip-split"} {
		c := fromJSON[changeOf](t, a.output("change", "Wren", "--measure", measure, "--json"))
		require.NotEmpty(t, c.Trends)
		for _, one := range c.Trends {
			assert.Contains(t, text, reading.Minus(one.Sentence), "the months")
		}
		if c.Sides != nil {
			assert.Contains(t, text, reading.Minus(c.Sides.Sentence), "left against right")
		}
		assert.Equal(t, measure == "shoulder-flexion", c.Sides != nil)
	}
	screens := fromJSON[struct{ Screens []struct{ Sentence string } }](t, a.output("screen", "Wren", "--movement", "shoulder", "--json"))
	require.Len(t, screens.Screens, 1)
	assert.Contains(t, text, reading.Minus(screens.Screens[0].Sentence))
	assert.Equal(t, 3, js[int](w, `document.querySelectorAll("#athletes svg[role=img]").length`), "two of months, one of gaps")
	assert.Equal(t, []string{"reading 11", "reading 10"}, js[[]string](w, `[...document.querySelectorAll("[aria-labelledby=m-hip-split] .day .faint")].map((e) => e.textContent)`), "the last day first")
	assert.Equal(t, []string{"2 March 2026reading 11", "161.0° ± 5.9", "in-skill, warm"},
		js[[]string](w, `[...document.querySelectorAll('[data-reading="11"] > .day, [data-reading="11"] > .angle, [data-reading="11"] > .band')].map((e) => e.textContent)`))
	w.onlyOwn()
}

// groupHall has readings of four athletes on two days; one of them was read on one day only.
const groupHall = `Wren 2026-04-01 left warm active hip-split 158 1.7 180 rater=Iris setup=wall
Wren 2026-05-06 left warm active hip-split 170 1.7 180 rater=Iris setup=wall
Lio 2026-04-01 left warm active hip-split 165 1.7 180 rater=Iris setup=wall
Lio 2026-05-06 left warm active hip-split 168 1.7 180 rater=Iris setup=wall
Plover 2026-04-01 left warm active hip-split 171 1.7 180 rater=Iris setup=wall
Plover 2026-05-06 left warm active hip-split 170 1.7 180 rater=Iris setup=wall
Iris 2026-05-06 left warm active hip-split 150 1.7 180 rater=Iris setup=wall
Wren 2026-05-06 left warm active shoulder-flexion 150 1.7 180`

// The change of all athletes is that of 'ecart change --all', word for word, with names or
// letters, and its sheet that of 'ecart sheet group'.
func TestTheGroup(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	require.NoError(t, desktest.Keep(filepath.Join(data, "ecart.journal"), groupHall))
	a := start(t, data)
	w := a.open(laptop)
	w.athletesPlace("")
	type group struct {
		Sentence string
		Notes    []string
		Athletes []struct{ Athlete string }
	}
	w.until(`document.querySelector("#group-all svg") !== null`)
	assert.Equal(t, []string{"hip-split"}, js[[]string](w, `[...document.getElementById("group-what").options].map((o) => o.value)`), "one athlete is no group")
	g := fromJSON[group](t, a.output("change", "--all", "--measure", "hip-split", "--json"))
	text := w.text("group")
	assert.Contains(t, text, reading.Minus(g.Sentence))
	assert.Contains(t, text, "May 2026 against April 2026")
	js[bool](w, `(document.querySelector("#group details").open = true)`)
	for _, note := range g.Notes {
		assert.Contains(t, w.text("group"), reading.Minus(note))
	}
	for _, m := range g.Athletes {
		assert.Contains(t, text, m.Athlete)
	}
	w.accessible(browsertest.Axe(t), "the group")
	w.shot("laptop-group")

	w.click(w.middle("#group-nameless"))
	w.until(`!document.getElementById("group-all").textContent.includes("Plover")`)
	assert.NotContains(t, w.text("group"), "Wren")
	w.click(w.middle(`[data-sheet="group"]`))
	w.until(`document.querySelector("#sheets-preview iframe")?.contentDocument?.querySelector(".ways") != null`)
	out := filepath.Join(t.TempDir(), "page.html")
	a.output("sheet", "group", "--measure", "hip-split", "--nameless", "--out", out)
	want, err := os.ReadFile(out)
	require.NoError(t, err)
	got := get(w, chromedp.Evaluate[string](`fetch(document.querySelector("#sheets-preview iframe").src).then((r) => r.text())`, chromedp.EvalAwaitPromise))
	assert.Equal(t, string(unmarked(want)), got)
	assert.NotContains(t, got, "Plover")
	w.onlyOwn()

	p := a.open(phone)
	p.athletesPlace("")
	p.until(`document.querySelector("#group-all svg") !== null`)
	assert.LessOrEqual(t, js[int](p, `document.documentElement.scrollWidth`), int(phone.w))
	p.shot("phone-group")
}

// What warming up adds over all sessions is the first line on the sessions, in the words of 'ecart change'.
func TestTheWarmUp(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	table := ""
	for _, day := range []string{"2026-03-02", "2026-03-09", "2026-03-16"} {
		table += "Wren " + day + " left cold active hip-split 150 1.7 180\nWren " + day + " left warm active hip-split 159 1.7 180\n"
	}
	require.NoError(t, desktest.Keep(filepath.Join(data, "ecart.journal"), table))
	a := start(t, data).enter()
	c := fromJSON[struct {
		WarmUp struct{ Sentence string } `json:"warm_up"`
	}](t, a.output("change", "Wren", "--json"))
	got := fromJSON[struct{ Measures []struct{ Steps []string } }](t, string(a.do("GET", "/athletes/1?wide=110", nil).body))
	require.Len(t, got.Measures[0].Steps, 4)
	assert.Equal(t, reading.Minus(c.WarmUp.Sentence), got.Measures[0].Steps[0])
	assert.Contains(t, c.WarmUp.Sentence, "cold to warm, three sessions, active, together: +9.0° ± ")
}

// The plan is that of 'ecart plan', without an athlete and beside the months of one.
func TestThePlan(t *testing.T) {
	t.Parallel()
	a := startHall(t)
	w := a.open(laptop)
	plan := func(args ...string) (sentence, own string) {
		by := js[string](w, `document.querySelector(".plan[open] input[type=date]").value`)
		p := fromJSON[struct {
			Sentence string
			Notes    []string
		}](t, a.output(append([]string{"plan", "hip-split", "--change", "12.5", "--by", by, "--json"}, args...)...))
		return p.Sentence, p.Notes[0]
	}
	ask := func(section string) string {
		js[bool](w, `(document.querySelector(%q).open = true)`, section)
		js[bool](w, `(document.querySelector(%q + " input[inputmode]").value = "12,5", document.querySelector(%q + " button").click(), true)`, section, section)
		w.until(`document.querySelector(%q + " .says, " + %q + " .wrong") !== null`, section, section)
		return js[string](w, `document.querySelector(%q).textContent`, section)
	}
	w.athletesPlace("")
	text := ask("#athletes-all > .plan")
	sentence, note := plan()
	assert.Contains(t, text, reading.Minus(sentence))
	assert.Contains(t, text, reading.Minus(note))
	w.accessible(browsertest.Axe(t), "a plan")
	w.shot("laptop-plan")
	w.click(w.middle(`#athletes-all > .plan [data-sheet="plan"]`))
	w.until(`document.querySelector("#sheets-preview iframe")?.contentDocument?.querySelector(".planned") != null`)
	got := get(w, chromedp.Evaluate[string](`fetch(document.querySelector("#sheets-preview iframe").src).then((r) => r.text())`, chromedp.EvalAwaitPromise))
	out := filepath.Join(t.TempDir(), "plan.html")
	a.output("sheet", "plan", "hip-split", "--change", "12.5", "--by", js[string](w, `document.querySelector(".plan[open] input[type=date]").value`), "--out", out)
	want, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Equal(t, string(unmarked(want)), got)
	w.click(w.middle("#sheets-close"))

	w.athletesPlace("Wren")
	text = ask("[aria-labelledby=m-hip-split] .plan")
	sentence, note = plan("--athlete", "Wren")
	assert.Contains(t, text, reading.Minus(sentence))
	assert.Contains(t, text, reading.Minus(note))
	assert.Contains(t, text, "as her last reading")
	w.onlyOwn()

	p := a.open(phone)
	p.athletesPlace("")
	js[bool](p, `(document.querySelector("#athletes-all > .plan").open = true, document.querySelector(".plan button").click(), true)`)
	p.until(`document.querySelector(".plan table") !== null`)
	assert.LessOrEqual(t, js[int](p, `document.documentElement.scrollWidth`), int(phone.w))
	p.shot("phone-plan")
}

// A reading is erased after a second yes, and is then missing from the months.
func TestErasingAReading(t *testing.T) {
	t.Parallel()
	a := startHall(t)
	w := a.open(laptop)
	w.athletesPlace("Wren")
	press := func(where, words string) {
		t.Helper()
		js[bool](w, `([...document.querySelectorAll(%q)].find((b) => b.textContent === %q).id = "press", true)`, where, words)
		w.click(w.middle("#press"))
		js[bool](w, `(document.getElementById("press")?.removeAttribute("id"), true)`)
	}
	const row = `[data-reading="11"]`
	w.click(w.middle(row + " summary"))
	press(row+" button", "take it back")
	w.until(`document.querySelector('[data-reading="11"]').textContent.includes("reading 11 of 2 March 2026 is erased for good")`)
	assert.Equal(t, "leave it", js[string](w, `document.activeElement.textContent`), "Enter alone erases nothing")
	w.key(kb.Enter)
	w.until(`document.activeElement.textContent === "take it back"`)
	assert.Contains(t, a.output("journal", "list", "--athlete", "Wren"), "11 readings")
	press(row+" button", "take it back")
	press(row+" button", "erase it")
	w.until(`document.querySelector('[data-reading="11"]') === null && document.getElementById("athletes-counts").textContent.startsWith("10 readings")`)
	assert.Equal(t, "reading 11 is erased", w.text("athletes-says"))
	assert.Contains(t, a.output("journal", "list", "--athlete", "Wren"), "10 readings")
	c := fromJSON[changeOf](t, a.output("change", "Wren", "--measure", "hip-split", "--json"))
	assert.Contains(t, w.text("athletes"), reading.Minus(c.Trends[0].Sentence), "the months are those without it")

	// a reading that another program erased meanwhile
	path, err := program()
	require.NoError(t, err)
	require.NoError(t, exec.Command(path, "journal", "erase", "--reading", "10", "--yes", "--journal", filepath.Join(a.data, "ecart.journal")).Run())
	w.click(w.middle(`[data-reading="10"] summary`))
	press(`[data-reading="10"] button`, "take it back")
	press(`[data-reading="10"] button`, "erase it")
	w.until(`document.querySelector('[data-reading="10"] .wrong').textContent.includes("not there")`)
	assert.NotContains(t, w.text("athletes"), "ecart journal")
	w.onlyOwn()
}

// A reading is filed under another name, which is offered; without readings an athlete is
// no longer on the roster.
func TestFilingUnderAnotherName(t *testing.T) {
	t.Parallel()
	a := startHall(t)
	w := a.open(phone)
	w.athletesPlace("Lio")
	assert.Equal(t, []string{"Iris", "Lio", "Wren"}, js[[]string](w, `[...document.getElementById(document.querySelector(".correct input").getAttribute("list")).options].map((o) => o.value)`))
	w.click(w.middle(`[data-reading="12"] summary`))
	js[bool](w, `(document.getElementById("to-12").select(), true)`)
	w.do(keys(" \r"))
	w.until(`document.querySelector('[data-reading="12"] .wrong').textContent.includes("no athlete was named")`)
	js[bool](w, `(document.getElementById("to-12").select(), true)`)
	w.do(typed("to-12", "wren\r"))
	w.until(`location.hash === "#athletes" && document.querySelectorAll(".names a").length === 2`)
	assert.Contains(t, a.output("journal", "list", "--athlete", "Wren"), "12 readings")
	assert.NotContains(t, a.output("journal", "list"), "Lio")
	w.onlyOwn()
}

// The sheets of an athlete are chosen in one panel and are those of the command. Their file names have
// the kind of sheet, the name in the journal, the day and the reader.
func TestSheetsOfAnAthlete(t *testing.T) {
	t.Parallel()
	a := startHall(t)
	w := a.open(laptop)
	w.athletesPlace("Wren")
	out := filepath.Join(t.TempDir(), "page.html")
	w.click(w.middle(`[data-sheet="months hip-split"]`))
	for _, c := range []struct {
		sheet, reader, paper, file string
		args                       []string
	}{
		{"the months of Wren, hip split", "coach", "a4", "months-hip-split-Wren-2026-03-02-coach.html", []string{"months", "Wren", "--measure", "hip-split"}},
		{"the months of Wren, shoulder flexion", "parent", "letter", "months-shoulder-flexion-Wren-2026-05-11-parent.html", []string{"months", "Wren", "--measure", "shoulder-flexion", "--for", "parent", "--paper", "letter"}},
		{"the gaps of Wren, shoulder", "athlete", "letter", "gaps-shoulder-Wren-2026-05-11-athlete.html", []string{"screen", "Wren", "--movement", "shoulder", "--for", "athlete", "--paper", "letter"}},
	} {
		w.sheetFor(c.sheet, c.reader, c.paper)
		w.click(w.middle("#sheets-save"))
		w.until(`document.getElementById("sheets-says").textContent === %q`, "saved as "+c.file)
		a.output(append(append([]string{"sheet"}, c.args...), "--out", out, "--force")...)
		want, err := os.ReadFile(out)
		require.NoError(t, err)
		got := get(w, chromedp.Evaluate[string](`fetch(document.querySelector("#sheets-preview iframe").src).then((r) => r.text())`, chromedp.EvalAwaitPromise))
		assert.Equal(t, string(unmarked(want)), got, "%s", c.file)
	}
	w.onlyOwn()
}

// Without a journal the roster is empty, and showing it makes no journal. If a journal cannot be
// opened, the roster says so, and takes can still be read.
func TestNoJournalToShow(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	w := start(t, data).open(phone)
	w.athletesPlace("")
	assert.Contains(t, w.text("athletes"), "Nobody yet")
	journal := filepath.Join(data, "ecart.journal")
	assert.NoFileExists(t, journal)

	require.NoError(t, os.WriteFile(journal, []byte(strings.Repeat("no journal\n", 1000)), 0o600))
	w.click(w.middle("#to-today"))
	w.athletesPlace("")
	w.until(`document.querySelector("#athletes .wrong") !== null`)
	assert.Contains(t, w.text("athletes"), "ecart.journal")
	w.accessible(browsertest.Axe(t), "a journal that cannot be opened")
	w.click(w.middle("#to-today"))
	w.click(w.middle("#demo"))
	w.until(`document.getElementById("print").dataset.sharp === "yes"`)
	w.onlyOwn()
}

// Once an athlete is chosen in the reading, her last readings of this measure are under the ruler, and
// a reading that is then kept has its picture there.
func TestTheReadingsBefore(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	require.NoError(t, desktest.Keep(filepath.Join(data, "ecart.journal"), hall))
	w := ready(t, data, laptop)
	w.place(asks...)
	w.read()
	assert.Equal(t, []string{"Iris", "Lio", "Wren"}, js[[]string](w, `[...document.getElementById("athlete").list.options].map((o) => o.value)`))
	assert.True(t, js[bool](w, `document.getElementById("earlier").hidden`))
	w.do(typed("athlete", "wren"))
	w.until(`!document.getElementById("earlier").hidden`)
	year := " 2026"
	if time.Now().Year() == 2026 {
		year = ""
	}
	assert.Equal(t, "before: 158.0° ± 5.9 on 2 February"+year+", 161.0° ± 5.9 on 2 March"+year, w.text("earlier"))
	w.do(typed("athlete", "x"))
	w.until(`document.getElementById("earlier").hidden`)
	w.key(kb.Backspace)
	w.madeOn("2026-03-20")
	w.click(w.middle("#keep-do"))
	w.until(`document.getElementById("kept").textContent.includes("kept for wren")`)
	w.athletesPlace("Wren")
	w.until(`document.querySelector('[data-reading="14"] img')?.complete && document.querySelector('[data-reading="14"] img').naturalWidth > 0`)
	assert.Equal(t, 1, js[int](w, `document.querySelectorAll(".rows img").length`))
	assert.NotEmpty(t, js[string](w, `document.querySelector('[data-reading="14"] .band').firstChild.textContent`), "its band")
	w.click(w.middle(`[data-reading="14"] img`))
	w.until(`document.body.classList.contains("opened") && document.getElementById("print").dataset.shown === "43"`)
	assert.NotContains(t, w.a.errs.String(), "ren", "no name in what the server says")
	w.mu.Lock()
	for _, r := range w.requests {
		u, err := url.Parse(r)
		require.NoError(t, err)
		if strings.HasPrefix(u.Path, "/athletes") || strings.HasPrefix(u.Path, "/readings") {
			assert.NotContains(t, strings.ToLower(r), "wren", "no name in an address")
		}
	}
	w.mu.Unlock()
	w.onlyOwn()
}

// TestTheAthletesAtThreeWidths writes pictures for a person to look at, and checks what a
// program can check.
func TestTheAthletesAtThreeWidths(t *testing.T) {
	t.Parallel()
	a := startHall(t)
	axe := browsertest.Axe(t)
	for _, s := range []size{{1366, 768, false, 1}, {820, 1180, true, 1}, {360, 740, true, 2}, {320, 640, true, 2}} {
		w := a.open(s)
		w.athletesPlace("")
		w.shot(fmt.Sprintf("%d-roster", s.w))
		w.accessible(axe, fmt.Sprintf("the roster at %d", s.w))
		w.athletesPlace("Wren")
		js[bool](w, `(document.querySelector(".correct").open = true)`)
		w.until(`document.fonts.status === "loaded"`)
		w.shot(fmt.Sprintf("%d-athlete", s.w))
		w.accessible(axe, fmt.Sprintf("an athlete at %d", s.w))
		assert.LessOrEqual(t, js[int](w, `document.documentElement.scrollWidth`), int(s.w), "at %d px nothing has to be pushed sideways", s.w)
		assert.Empty(t, js[[]string](w, `[...document.querySelectorAll("#athletes :is(a, button, summary, input)")].filter((e) => e.offsetParent && e.getBoundingClientRect().height < 44).map((e) => e.outerHTML.slice(0, 80))`), "what is touched is 44 px high")
		w.onlyOwn()
	}
}

// Requests that our page never sends are refused and change nothing.
func TestRequestsAboutAthletes(t *testing.T) {
	t.Parallel()
	a := startHall(t).enter()
	before := a.output("journal", "list")
	roster := fromJSON[struct{ Athletes []struct{ Number int } }](t, string(a.do("GET", "/athletes", nil).body))
	iris := fmt.Sprintf("/athletes/%d", roster.Athletes[0].Number)
	for _, c := range []struct {
		method, path, body string
		status             int
	}{
		{"GET", "/athletes/99?wide=110", "", http.StatusNotFound},
		{"GET", "/athletes/0?wide=110", "", http.StatusBadRequest},
		{"GET", "/athletes/1?wide=9999", "", http.StatusBadRequest},
		{"GET", "/athletes/x?wide=110", "", http.StatusBadRequest},
		{"GET", "/athletes/1/months.html?measure=bridge&for=coach", "", http.StatusBadRequest},
		{"GET", "/athletes/1/months.html?measure=hip-split&for=press", "", http.StatusBadRequest},
		{"GET", "/athletes/99/months.html?measure=hip-split&for=coach", "", http.StatusNotFound},
		{"GET", "/athletes/1/gaps.html?movement=cartwheel&for=coach", "", http.StatusBadRequest},
		{"GET", "/group?measure=bridge&wide=110", "", http.StatusBadRequest},
		{"GET", "/plan?measure=bridge&change=5&by=2199-01-01", "", http.StatusBadRequest},
		{"GET", "/plan?measure=hip-split&change=much&by=2199-01-01", "", http.StatusUnprocessableEntity},
		{"GET", "/plan?measure=hip-split&change=5&by=someday", "", http.StatusUnprocessableEntity},
		{"GET", "/plan?measure=hip-split&change=5&by=2020-01-01", "", http.StatusUnprocessableEntity},
		{"GET", "/plan?measure=hip-split&change=5&by=2199-01-01&athlete=99", "", http.StatusNotFound},
		{"GET", "/group?measure=hip-split&wide=1", "", http.StatusBadRequest},
		{"GET", "/group?measure=knee-bend&wide=110", "", http.StatusUnprocessableEntity},
		{"GET", "/group.html?measure=hip-split&for=parent", "", http.StatusBadRequest},
		{"GET", iris + "/gaps.html?movement=split&for=coach", "", http.StatusUnprocessableEntity},
		{"GET", "/athletes/1/months.html?measure=hip-split&for=coach&paper=a5", "", http.StatusBadRequest},
		{"GET", "/readings/1/sheet.html?for=judge&take=" + noTake, "", http.StatusNotFound},
		{"GET", "/readings/1/sheet.html?for=coach&take=" + noTake, "", http.StatusBadRequest},
		{"POST", "/readings/99/athlete", `{"athlete": "Kit"}`, http.StatusUnprocessableEntity},
		{"POST", "/readings/1/athlete", `{"athlete": " "}`, http.StatusUnprocessableEntity},
		{"POST", "/readings/1/athlete", `{"athlete": "` + strings.Repeat("k", 81) + `"}`, http.StatusUnprocessableEntity},
		{"POST", "/readings/1/athlete", `{"athlete": "` + strings.Repeat("k", 5000) + `"}`, http.StatusRequestEntityTooLarge},
		{"POST", "/readings/1/athlete", `{"name": "Kit"}`, http.StatusBadRequest},
		{"DELETE", "/readings/99", "", http.StatusUnprocessableEntity},
		{"DELETE", "/readings/-1", "", http.StatusBadRequest},
		{"POST", "/athletes/earlier", `{"athlete": "Wren", "measure": "hip-split", "day": "someday"}`, http.StatusUnprocessableEntity},
	} {
		r := a.do(c.method, c.path, strings.NewReader(c.body))
		assert.Equal(t, c.status, r.status, "%s %s: %s", c.method, c.path, r.body)
		assert.Equal(t, "no-store", r.header.Get("Cache-Control"))
		assert.NotContains(t, string(r.body), "--")
	}
	other := func(req *http.Request) { req.Header.Set("Origin", "http://127.0.0.1:1") }
	assert.Equal(t, http.StatusForbidden, a.do("DELETE", "/readings/1", nil, other).status)
	assert.Equal(t, http.StatusForbidden, a.do("POST", "/readings/1/athlete", strings.NewReader(`{"athlete": "Kit"}`), other).status)
	assert.Equal(t, before, a.output("journal", "list"))
}
