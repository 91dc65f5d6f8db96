package page_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/trial/browsertest"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// twoTakes uploads the demo twice, the second with marks a little off, and returns their ids.
func (a *app) twoTakes() (ids [2]string) {
	clip, _ := demotake.Files()
	frame, marks := demoMarks(a.t)
	for i := range ids {
		ids[i] = a.upload(fmt.Sprintf("take-%c.mp4", 'a'+i), append(clip[:len(clip):len(clip)], strings.Repeat("\x00\x00\x00\x08free", i)...))
		m := map[string][2]float64{}
		for l, at := range marks {
			m[l] = [2]float64{at[0], at[1]}
		}
		m["front-ankle"] = [2]float64{marks["front-ankle"][0], marks["front-ankle"][1] - float64(60*i)}
		round, err := json.Marshal(m)
		require.NoError(a.t, err)
		work := fmt.Sprintf(`{"version": 0, "skill": "fig-women/split-leap", "frame": %d, "frames": {"%d": {"rounds": [%s]}}}`, frame+i, frame+i, round)
		r := a.do("PUT", "/takes/"+ids[i]+"/work", strings.NewReader(work))
		require.Equal(a.t, http.StatusOK, r.status, "%s", r.body)
	}
	return ids
}

// Two takes side by side and a quiz are the same from the page and from commands: the page that compares them, the
// key, the frames on paper, the score of the same answers.
func TestBothDoorsSideBySide(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	d := twoDoors(t, clip)
	ids := d.page.twoTakes()
	frame, _ := demoMarks(t)
	for i, id := range ids {
		data, err := os.ReadFile(filepath.Join(d.page.data, "takes", id))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(d.folder, fmt.Sprintf("take-%c.mp4", 'a'+i)), data, 0o600))
		one := d.page.do("GET", fmt.Sprintf("/takes/%s/frames/%d/reading.json", id, frame+i), nil)
		require.Equal(t, http.StatusOK, one.status, "%s", one.body)
		require.NoError(t, os.WriteFile(filepath.Join(d.folder, fmt.Sprintf("%c.json", 'a'+i)), one.body, 0o600))
	}
	file := func(name string) string {
		data, err := os.ReadFile(filepath.Join(d.folder, name))
		require.NoError(t, err)
		return string(unmarked(data))
	}
	page := func(path string) string {
		r := d.page.do("GET", path, nil)
		require.Equal(t, http.StatusOK, r.status, "%s: %s", path, r.body)
		return string(r.body)
	}
	beside := "/beside/" + ids[0] + "/" + ids[1]
	for query, flags := range map[string][]string{"": nil, "&covered=yes&paper=letter": {"--faceless", "--paper", "letter"}} {
		d.command(true, append([]string{"sheet", "pair", "a.json", "b.json", "--take", "take-a.mp4", "--take", "take-b.mp4", "--out", "two.html", "--force"}, flags...)...)
		assert.Equal(t, file("two.html"), page(beside+"/sheet.html?for=judge"+query), "side by side %s", query)
	}

	made := d.page.do("POST", "/quizzes", strings.NewReader(fmt.Sprintf(`{"takes": [%q, %q]}`, ids[0], ids[1])))
	require.Equal(t, http.StatusCreated, made.status, "%s", made.body)
	quiz := fromJSON[struct{ ID string }](t, string(made.body)).ID
	d.command(true, "sheet", "quiz", "a.json", "b.json", "--in", ".", "--out", "quiz.html", "--key", "key.json", "--answers", "answers.csv")
	key, err := os.ReadFile(filepath.Join(d.page.data, "quizzes", quiz+".json"))
	require.NoError(t, err)
	assert.Equal(t, file("key.json"), string(key), "the key")
	assert.Equal(t, file("quiz.html"), page("/quizzes/"+quiz+"/quiz.html?for=judge"), "the quiz on paper")
	require.NoError(t, os.WriteFile(filepath.Join(d.folder, "answers.csv"), []byte("question,band\n1,b\n2,a 20 b 80\n"), 0o600))
	score, _ := d.command(true, "sheet", "score", "answers.csv", "--key", "key.json", "--json", "--who", "Iris", "--out", "score.html")
	answers := "?" + url.Values{"answer": {"b", "a 20 b 80"}, "who": {"Iris"}}.Encode()
	assert.Equal(t, score, page("/quizzes/"+quiz+"/score.json"+answers), "the score")
	assert.Equal(t, file("score.html"), page("/quizzes/"+quiz+"/score.html"+answers+"&for=judge"), "its page")
	assert.NotContains(t, page("/quizzes/"+quiz), "probability", "what is asked has no answer in it")
}

// Two ticked takes are stepped together or apart, on rulers with the same scale, with their difference.
func TestSideBySide(t *testing.T) {
	t.Parallel()
	axe := browsertest.Axe(t)
	a := start(t, t.TempDir()).enter()
	ids := a.twoTakes()
	w := a.open(size{1366, 768, false, 1})
	w.click(w.middle("#to-beside"))
	w.until(`document.querySelectorAll(".ticks li").length === 2`)
	w.accessible(axe, "the takes to tick")
	w.see("beside-1366-ticks")
	assert.True(t, js[bool](w, `document.querySelector("#beside .main").disabled`))
	for _, id := range ids {
		w.click(w.middle("#tick-" + id))
	}
	w.click(w.middle("#beside .main"))
	w.until(`location.hash === "#beside/%s/%s" && document.querySelectorAll(".beside-ruler svg").length === 2 && document.querySelectorAll(".beside-side canvas[data-frame]").length === 2`, ids[0], ids[1])
	frames := func() []string {
		return js[[]string](w, `[...document.querySelectorAll(".beside-side .when")].map((e) => e.textContent.split(",")[0])`)
	}
	frame, _ := demoMarks(t)
	assert.Equal(t, []string{fmt.Sprint("frame ", frame), fmt.Sprint("frame ", frame+1)}, frames(), "each at its moment")
	assert.Contains(t, w.text("beside-all"), "than their uncertainty")
	assert.Contains(t, w.text("beside-all"), "equally large")
	w.accessible(axe, "two takes side by side")
	w.see("beside-1366")
	assert.True(t, js[bool](w, `[...document.querySelectorAll(".beside-ruler")].every((e) => e.getBoundingClientRect().bottom <= innerHeight)`), "both rulers are in sight")
	for _, s := range []size{{820, 1180, true, 1}, {390, 844, true, 1}, {320, 640, true, 1}} {
		call(w, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: s.w, Height: s.h, DeviceScaleFactor: s.dpr, Mobile: s.touch})
		w.keysHandled()
		w.accessible(axe, fmt.Sprintf("two takes side by side at %d", s.w))
		assert.LessOrEqual(t, js[int](w, `document.documentElement.scrollWidth`), int(s.w))
		w.see(fmt.Sprintf("beside-%d", s.w))
	}
	call(w, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: 1366, Height: 768, DeviceScaleFactor: 1})
	w.keysHandled()

	press := func(label string) { w.click(w.middle(`[aria-label="` + label + `"]`)) }
	press("A: on")
	press("A: on")
	assert.Equal(t, []string{fmt.Sprint("frame ", frame+2), fmt.Sprint("frame ", frame+3)}, frames(), "together")
	w.until(`document.querySelector(".beside-rulers").textContent.includes("nothing is marked") || document.querySelectorAll(".beside-ruler svg").length === 0`)
	w.click(w.middle("#beside-how label:nth-of-type(2)"))
	press("A: back")
	assert.Equal(t, []string{fmt.Sprint("frame ", frame+1), fmt.Sprint("frame ", frame+3)}, frames(), "apart")
	press("A: to its moment")
	press("B: to its moment")
	w.until(`document.querySelectorAll(".beside-ruler svg").length === 2 && !document.getElementById("beside-sheet").disabled`)
	w.click(w.middle("#beside-sheet"))
	w.preview()
	w.click(w.middle("#sheets-close"))

	// the back button goes to the list
	js[bool](w, `(history.back(), true)`)
	w.until(`document.querySelectorAll(".ticks li").length === 2`)
	w.onlyOwn()
}

// A quiz of ticked takes is answered on the page and scored there.
func TestAQuizOnThePage(t *testing.T) {
	t.Parallel()
	axe := browsertest.Axe(t)
	a := start(t, t.TempDir()).enter()
	ids := a.twoTakes()
	w := a.open(size{390, 844, true, 2})
	w.tap(w.middle("#to-beside"))
	w.until(`document.querySelectorAll(".ticks li").length === 2`)
	for _, id := range ids {
		w.tap(w.middle("#tick-" + id))
	}
	js[bool](w, `([...document.querySelectorAll("#beside button")].find((b) => b.textContent.startsWith("make a quiz")).id = "make", true)`)
	w.tap(w.middle("#make"))
	w.until(`location.hash.startsWith("#quiz/") && document.querySelectorAll(".questions img").length === 2`)
	w.until(`document.querySelector(".questions img").complete && document.querySelector(".questions img").naturalWidth > 0`)
	w.accessible(axe, "a quiz")
	w.shot("quiz-390")
	assert.LessOrEqual(t, js[int](w, `document.documentElement.scrollWidth`), 390)
	assert.True(t, js[bool](w, `document.getElementById("quiz-score").disabled`))
	w.tap(w.middle("#question-1-b"))
	w.until(`document.getElementById("beside").textContent.includes("1 of 2 answered")`)
	js[bool](w, `(document.querySelector('[aria-label="question 2: how sure of a, percent"]').id = "sure-a", document.querySelector('[aria-label="question 2: how sure of b, percent"]').id = "sure-b", true)`)
	w.do(typed("sure-a", "20"))
	w.do(typed("sure-b", "70"))
	w.tap(w.middle("#quiz-score"))
	w.until(`document.getElementById("quiz-says").textContent.includes("make 100")`)
	js[bool](w, `(document.getElementById("sure-b").select(), true)`)
	w.do(typed("sure-b", "80"))
	w.do(typed("quiz-who", "Iris"))
	w.tap(w.middle("#quiz-score"))
	w.preview()
	quiz := strings.TrimPrefix(js[string](w, `location.hash`), "#quiz/")
	score := js[string](w, `document.querySelector("#sheets-preview iframe").contentDocument.body.textContent`)
	assert.Contains(t, score, "Iris")
	assert.Contains(t, score, "a 20 b 80")
	w.see("score-390")

	// the answers outlast a reload, and a quiz can be removed
	w.tap(w.middle("#sheets-close"))
	w.do(chromedp.Reload())
	w.ready()
	w.until(`document.getElementById("beside").textContent.includes("2 of 2 answered")`)
	w.tap(w.middle("#to-beside"))
	w.until(`document.querySelector(".quizzes .remove")`)
	w.tap(w.middle(".quizzes .remove"))
	w.until(`!document.querySelector(".quizzes .remove")`)
	assert.NoFileExists(t, filepath.Join(a.data, "quizzes", quiz+".json"))
	w.onlyOwn()
}
