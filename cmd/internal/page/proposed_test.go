package page_test

import (
	"encoding/json"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/browsertest"
	"ecart/cmd/internal/trial/needs"
)

// withPose runs `ecart page` with the pose network.
func withPose(t testing.TB, data string) *app {
	network := needs.PoseNetwork(t)
	require.NoError(t, sees())
	path, err := program()
	require.NoError(t, err)
	c := exec.Command(path, "page", "--no-open", "--data", data, "--port", "0")
	c.Env = append(os.Environ(), "ECART_POSE="+network)
	return startAs(t, data, c)
}

// proposedTo waits until so many marks are proposed on the moment that shows.
func (w *window) proposedTo(n int) {
	w.t.Helper()
	for end := time.Now().Add(4 * time.Minute); time.Now().Before(end) && !js[bool](w, `document.querySelectorAll(".handle.proposed").length === %d`, n); { // on a busy machine
		time.Sleep(100 * time.Millisecond)
	}
	w.until(`document.querySelectorAll(".handle.proposed").length === %d && document.getElementById("reading").dataset.state === "full" && document.getElementById("print").dataset.sharp === "yes"`, n)
}

// A clip is dropped and kept with three presses, where what is proposed is right: all marks, the name, keep. Until then
// there is no verdict, and nothing can be kept.
func TestFromAClipToAKeptReadingWithThreePresses(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	a := withPose(t, data)
	rosterOf(t, data)
	p := &person{window: a.open(size{1366, 768, false, 1})}
	p.sayForAll()
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
	r := a.enter().do("POST", "/takes/"+id+"/keep", jsonBody(map[string]any{"frame": frame, "version": js[int](p.window, `fetch("/takes/" + location.hash.slice(1) + "/work").then((r) => r.json()).then((w) => w.version)`), "athlete": "Wren", "day": "2026-03-02"}))
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

	k, kept := inJournal(t, data)
	assert.False(t, kept.Proposed)
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
	w.sayForAll()
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
	w.click(w.middle("#undo"))
	w.until(`document.querySelectorAll(".handle.proposed").length === 1 && document.getElementById("keep").hidden`)
	w.onlyOwn()
}

func marksBy(m reading.Marks) map[string]reading.Placement {
	out := map[string]reading.Placement{}
	for _, p := range m.Marks {
		out[p.Landmark] = p
	}
	return out
}

// What a command proposes and confirms is what the page proposes and confirms: the same marks and, byte for byte, the
// same reading.
func TestProposalsThroughBothDoors(t *testing.T) {
	t.Parallel()
	d := &doors{t: t, page: withPose(t, t.TempDir()).enter(), folder: t.TempDir(), env: []string{"ECART_POSE=" + needs.PoseNetwork(t)}}
	clip := demoFile(t)
	data, err := os.ReadFile(clip)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(d.folder, "leap.mp4"), data, 0o600))
	d.id = d.page.takeIn("leap.mp4", data)
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

// jsonBody is v as the body of a request.
func jsonBody(v any) io.Reader { return strings.NewReader(jsonOf(v)) }
