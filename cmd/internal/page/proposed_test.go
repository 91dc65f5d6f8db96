package page_test

import (
	"encoding/json"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/browsertest"
	"ecart/cmd/internal/trial/needs"
	"ecart/cmd/internal/trial/scene"
	"ecart/vision/see/seetest"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// looking is the environment of programs that look with the pose network: at each picture once for all tests of the package.
var looking = sync.OnceValues(func() ([]string, error) {
	if err := sees(); err != nil {
		return nil, err
	}
	path, err := program()
	if err != nil {
		return nil, err
	}
	dir := filepath.Dir(path)
	return seetest.LookOnce(dir, filepath.Join(dir, "ecart-see"))
})

// withPose starts `ecart page` with the pose network.
func withPose(t testing.TB, data string) *app {
	network := needs.PoseNetwork(t)
	env, err := looking()
	require.NoError(t, err)
	path, err := program()
	require.NoError(t, err)
	c := exec.Command(path, "page", "--no-open", "--data", data, "--port", "0")
	c.Env = append(append(os.Environ(), env...), "ECART_POSE="+network)
	return startAs(t, data, c)
}

// proposedTo waits until so many marks are proposed in the frame that shows.
func (w *window) proposedTo(n int) {
	w.t.Helper()
	for end := time.Now().Add(4 * time.Minute); time.Now().Before(end) && !js[bool](w, `document.querySelectorAll(".handle.proposed").length === %d`, n); { // on a busy machine
		time.Sleep(100 * time.Millisecond)
	}
	w.until(`document.querySelectorAll(".handle.proposed").length === %d && document.getElementById("reading").dataset.state === "full" && document.getElementById("print").dataset.sharp === "yes"`, n)
}

// If the proposed marks are right, a dropped clip is kept with three presses: all marks, the name, keep. Before that
// there is no verdict, and nothing can be kept.
func TestFromAClipToAKeptReadingWithThreePresses(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	a := withPose(t, data)
	rosterOf(t, data)
	p := &person{window: a.open(size{1366, 768, false, 1})}
	p.setForAll()
	began := time.Now()
	p.drop(demoFile(t))
	p.proposedTo(4)
	found := time.Since(began)
	assert.Equal(t, "proposed, not confirmed", p.text("say"))
	assert.Contains(t, p.text("proposed"), "proposed, not confirmed")
	assert.True(t, js[bool](p.window, `document.getElementById("keep").hidden && document.getElementById("asked").hidden`))
	frame := js[int](p.window, `Number(document.getElementById("print").dataset.shown)`)
	peak, _ := demoMarks(t)
	assert.InDelta(t, peak, frame, 2, "the film stands at the widest moment")
	p.see("proposed-1366")
	p.accessible(browsertest.Axe(t), "proposed marks")

	id := p.opened()
	var stored struct{ Version int }
	require.NoError(t, json.Unmarshal(a.enter().do("GET", "/takes/"+id+"/work", nil).body, &stored))
	r := a.do("POST", "/takes/"+id+"/keep", jsonBody(map[string]any{"frame": frame, "version": stored.Version, "athlete": "Wren", "day": "2026-03-02"}))
	assert.Equal(t, 422, r.status)
	assert.Contains(t, string(r.body), "proposed and not confirmed")

	pressed := time.Now()
	p.press("#proposed-all")
	p.until(`document.getElementById("reading").dataset.state === "full" && !document.getElementById("keep").hidden && document.getElementById("say").textContent !== "proposed, not confirmed"`)
	assert.Empty(t, js[[]string](p.window, `[...document.querySelectorAll(".handle.proposed")].map((e) => e.dataset.key)`))
	p.see("proposed-confirmed-1366")
	p.press(`#who-names [data-name="Wren"]`)
	p.press("#keep-do")
	p.until(`document.getElementById("kept").textContent.startsWith("kept for Wren")`)
	assert.Equal(t, 3, p.clicks)
	assert.Zero(t, p.keys+p.scrolls)
	t.Logf("dropped to proposed %.1f s, confirmed to kept %.1f s, %d presses, %d keys, %d scrolls", found.Seconds(), time.Since(pressed).Seconds(), p.clicks, p.keys, p.scrolls)

	path, err := program()
	require.NoError(t, err)
	out, err := exec.Command(path, "journal", "show", strconv.Itoa(len(squad)+1), "--json", "--journal", filepath.Join(data, "ecart.journal")).Output()
	require.NoError(t, err)
	var k kept
	require.NoError(t, json.Unmarshal(out, &k))
	assert.Equal(t, "Wren", k.Athlete)
	assert.NotContains(t, string(k.Reading), `"proposed"`)
	m, err := reading.ParseMarks("kept", k.Marks)
	require.NoError(t, err)
	for _, one := range m.Marks {
		assert.Equal(t, reading.ConfirmedAll, one.Confirmed, one.Landmark)
		assert.NotNil(t, one.Covariance, "it keeps the covariance of the proposal")
	}
	p.onlyOwn()
}

// Enter confirms one mark after the other; a mark that is dragged is placed; undo brings the proposals back.
func TestEachProposalIsConfirmedOrMoved(t *testing.T) {
	t.Parallel()
	a := withPose(t, t.TempDir())
	w := a.open(size{820, 1180, true, 1})
	w.setForAll()
	w.drop(demoFile(t))
	w.proposedTo(4)
	w.see("proposed-820")
	w.accessible(browsertest.Axe(t), "proposed marks on a tablet")
	first := js[string](w, `document.querySelector(".handle.turn").dataset.key`)
	assert.Contains(t, w.text("proposed-one"), strings.ReplaceAll(first, "-", " ")+" is right")
	w.tap(w.middle("#proposed-one"))
	w.until(`document.querySelectorAll(".handle.proposed").length === 3`)
	frame := js[int](w, `Number(document.getElementById("print").dataset.shown)`)
	w.key(kb.Enter)
	w.until(`document.querySelectorAll(".handle.proposed").length === 2`)
	moved := js[string](w, `document.querySelector(".handle.turn").dataset.key`)
	before := marksBy(w.onServer(frame))
	from := w.onPicture(before[moved].X, before[moved].Y)
	w.drag(from, at{from.X + 9, from.Y + 3}, 4)
	w.until(`document.querySelectorAll(".handle.proposed").length === 1`)
	w.key(kb.Enter)
	w.until(`document.querySelectorAll(".handle.proposed").length === 0 && document.getElementById("reading").dataset.state === "full" && !document.getElementById("keep").hidden`)
	after := marksBy(w.onServer(frame))
	for name, m := range after {
		assert.False(t, m.Proposed)
		if name == moved {
			assert.Nil(t, m.Covariance, "a mark that was moved is a mark")
			assert.Empty(t, m.Confirmed)
		} else {
			assert.Equal(t, reading.ConfirmedEach, m.Confirmed)
			assert.Equal(t, before[name].Covariance, m.Covariance)
		}
	}
	w.key("z", kb.ModifierCtrl)
	w.until(`document.querySelectorAll(".handle.proposed").length === 1 && document.getElementById("keep").hidden`)
	w.onlyOwn()
}

// Rows of today come with proposed marks; they are not judged, and "next" walks through them, on a phone too.
func TestRowsComeWithProposals(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	rosterOf(t, data)
	p := &person{window: withPose(t, data).open(size{390, 844, true, 2}), touch: true}
	p.setForAll()
	p.dropAll(2, copies(t, "a.mp4", "b.mp4")...)
	js[bool](p.window, watchRows+"; true")
	for end := time.Now().Add(6 * time.Minute); time.Now().Before(end) && js[int](p.window, `document.querySelectorAll("#shelf li.proposed").length`) < 2; {
		time.Sleep(200 * time.Millisecond)
	}
	p.steady("proposed")
	assert.Contains(t, p.row("a.mp4", ".row-state"), "proposed, not confirmed")
	assert.Empty(t, p.row("a.mp4", ".row-band"), "it is not judged")
	assert.NotEmpty(t, p.row("b.mp4", ".row-value"))
	p.see("proposed-rows-390")
	p.accessible(browsertest.Axe(t), "rows with proposals")
	p.press("#to-next")
	p.proposedTo(4)
	p.see("proposed-390")
	p.accessible(browsertest.Axe(t), "proposed marks on a phone")
	assert.LessOrEqual(t, js[int](p.window, `document.documentElement.scrollWidth`), 390)
	p.press("#proposed-all")
	p.until(`!document.getElementById("keep").hidden`)
	p.press(`#who-names [data-name="Wren"]`)
	p.press("#keep-next")
	p.until(`document.getElementById("headline").textContent.startsWith("b.mp4")`)
	p.proposedTo(4)
	p.onlyOwn()
}

// If two people are in a picture, the page asks who is meant, and a click on one is the answer.
func TestClickChoosesThePerson(t *testing.T) {
	t.Parallel()
	w := withPose(t, t.TempDir()).open(size{1366, 768, false, 1})
	w.setForAll()
	path, hips := twoAthletes(t)
	w.drop(path)
	for end := time.Now().Add(4 * time.Minute); time.Now().Before(end) && w.text("now") != "click on the athlete"; {
		time.Sleep(100 * time.Millisecond)
	}
	assert.Contains(t, w.text("proposed"), "two people are seen: click on the athlete")
	w.see("proposed-who-1366")
	w.accessible(browsertest.Axe(t), "who is meant")
	w.click(w.onPicture(hips[1][0], hips[1][1]-40))
	w.proposedTo(4)
	assert.InDelta(t, hips[1][0], marksBy(w.onServer(0))["hip"].X, 40)
	w.onlyOwn()
}

// twoAthletes returns a picture with the drawn athlete in it twice, and the places of the hips.
func twoAthletes(t testing.TB) (path string, hips [2][2]float64) {
	s, err := scene.Named("leap")
	require.NoError(t, err)
	s.Stickers = nil
	frame, truth := s.Frame(43)
	m, ok := truth.Mark("hip")
	require.True(t, ok)
	part := image.Rect(int(m.Pixel[0])-420, 0, int(m.Pixel[0])+420, 700)
	two := image.NewRGBA(image.Rect(0, 0, 2*part.Dx(), part.Dy()))
	for k := range hips {
		draw.Draw(two, image.Rect(k*part.Dx(), 0, (k+1)*part.Dx(), part.Dy()), frame, part.Min, draw.Src)
		hips[k] = [2]float64{float64(k*part.Dx() + 420), m.Pixel[1]}
	}
	path = filepath.Join(t.TempDir(), "two.png")
	f, err := os.Create(path)
	require.NoError(t, err)
	defer f.Close()
	require.NoError(t, png.Encode(f, two))
	return path, hips
}

// Without the network one line says how marks could be proposed, until it was read; nothing else changes.
func TestWithoutThePoseNetworkOneLineSaysSo(t *testing.T) {
	t.Parallel()
	w := start(t, t.TempDir()).open(laptop)
	w.until(`!document.getElementById("no-pose").hidden`)
	assert.Contains(t, w.text("no-pose"), "make pose")
	w.click(w.middle("#no-pose-off"))
	w.until(`document.getElementById("no-pose").hidden`)
	w.do(chromedp.Reload())
	w.ready()
	assert.True(t, js[bool](w, `document.getElementById("no-pose").hidden`))
	w.setForAll()
	w.drop(demoFile(t))
	w.until(`document.getElementById("now").textContent === "the hip"`)
	assert.True(t, js[bool](w, `document.getElementById("proposed").hidden && document.getElementById("proposing").hidden`))
	w.onlyOwn()
}

func marksBy(m reading.Marks) map[string]reading.Placement {
	out := map[string]reading.Placement{}
	for _, p := range m.Marks {
		out[p.Landmark] = p
	}
	return out
}

// A command and the page propose the same marks and, once they are confirmed, give byte for byte the
// same reading.
func TestProposalsThroughBothDoors(t *testing.T) {
	t.Parallel()
	d := &doors{t: t, page: withPose(t, t.TempDir()).enter(), folder: t.TempDir(), env: []string{"ECART_POSE=" + needs.PoseNetwork(t)}} // the command looks itself
	clip := demoFile(t)
	data, err := os.ReadFile(clip)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(d.folder, "leap.mp4"), data, 0o600))
	d.id = d.page.upload("leap.mp4", data)
	var work map[string]any
	load := func() {
		require.NoError(t, json.Unmarshal(d.page.do("GET", "/takes/"+d.id+"/work", nil).body, &work))
	}
	put := func() {
		r := d.page.do("PUT", "/takes/"+d.id+"/work", jsonBody(work))
		require.Equal(t, http.StatusOK, r.status, "%s", r.body)
	}
	load()
	work["skill"], work["measure"], work["camera"] = "fig-women/split-leap", "hip-split", "by-eye"
	put()
	require.Eventually(t, func() bool { load(); return len(work["frames"].(map[string]any)) > 0 }, 4*time.Minute, 200*time.Millisecond)
	frame := int(work["frame"].(float64))
	first := d.get(frame, "marks.json")
	proposed, err := reading.ParseMarks("the page's", first)
	require.NoError(t, err)

	d.command(true, "propose", "leap.mp4", "--skill", "fig-women/split-leap", "--camera", "by-eye", "--out", "proposed.json")
	data, err = os.ReadFile(filepath.Join(d.folder, "proposed.json"))
	require.NoError(t, err)
	own, err := reading.ParseMarks("the command's", data)
	require.NoError(t, err)
	assert.Equal(t, own.Frame, proposed.Frame)
	assert.Equal(t, own.Facing, proposed.Facing)
	for name, m := range marksBy(*own) {
		m.Found = reading.OnlySeen // the command says it once for the file
		assert.Equal(t, m, marksBy(*proposed)[name])
	}

	read := []string{"read", "leap.mp4", "--marks", "proposed.json", "--skill", "fig-women/split-leap", "--camera", "by-eye", "--json"}
	printed, _ := d.command(true, read...)
	assert.Equal(t, packed(t, []byte(printed)), packed(t, d.get(frame, "reading.json")))
	for _, q := range work["frames"].(map[string]any)[strconv.Itoa(frame)].(map[string]any)["proposed"].(map[string]any) {
		q.(map[string]any)["confirmed"] = "all"
	}
	put()
	printed, _ = d.command(true, append(read, "--confirm")...)
	assert.Contains(t, printed, `"verdict"`)
	assert.Equal(t, packed(t, []byte(printed)), packed(t, d.get(frame, "reading.json")))
}

// jsonBody returns v as the body of a request.
func jsonBody(v any) io.Reader { return strings.NewReader(jsonOf(v)) }

// A clip in which two athletes come by becomes two rows, each at its moment; the names are tapped in order, and
// two readings of one clip are kept, half a pass apart.
func TestAClipOfTwoPassesIsTwoRows(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	a := withPose(t, data)
	rosterOf(t, data)
	w := &person{window: a.open(size{1366, 768, false, 1})}
	w.setForAll()
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
		// Two frames: which one is proposed depends on the libraries that decode the clip. How good moments are is
		// counted by the study of package cover; here each row must be at the moment of its own pass.
		assert.InDelta(t, at, moment, 2.0/30+0.0005)
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
		require.NoError(t, json.Unmarshal([]byte(a.output("journal", "show", []string{"16", "17"}[i], "--json")), &k))
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
