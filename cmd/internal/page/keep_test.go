package page_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// datedClip returns the demo's clip with noon UTC of a day as the time at which it was made.
func datedClip(t *testing.T, day string) []byte {
	clip, _ := demotake.Files()
	return dated(t, clip, day)
}

// dated returns a clip with noon UTC of a day as the time at which it was made.
func dated(t *testing.T, clip []byte, day string) []byte {
	dir := t.TempDir()
	from, to := filepath.Join(dir, "demo.mp4"), filepath.Join(dir, "dated.mp4")
	require.NoError(t, os.WriteFile(from, clip, 0o600))
	out, err := exec.Command("ffmpeg", "-v", "error", "-i", from, "-c", "copy", "-metadata", "creation_time="+day+"T12:00:00Z", to).CombinedOutput()
	require.NoError(t, err, "%s", out)
	data, err := os.ReadFile(to)
	require.NoError(t, err)
	return data
}

// marked stores the demo's marks on the frame they were placed on, and returns it.
func (a *app) marked(t *testing.T, id string) (frame int) {
	frame, marks := demoMarks(t)
	round, err := json.Marshal(marks)
	require.NoError(t, err)
	r := a.do("PUT", "/takes/"+id+"/work", strings.NewReader(fmt.Sprintf(`{"version": 0, "skill": "fig-women/split-leap", "frame": %d, "frames": {"%d": {"rounds": [%s]}}}`, frame, frame, round)))
	require.Equal(t, http.StatusOK, r.status, "%s", r.body)
	return frame
}

// keepAs requests that the marked frame is kept; with is further JSON of the body.
func (a *app) keepAs(id string, frame int, with string) answered {
	return a.do("POST", "/takes/"+id+"/keep", strings.NewReader(fmt.Sprintf(`{"frame": %d, "version": 1, %s}`, frame, with)))
}

func TestTheDayIsTheTakesOwn(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir()).enter()
	id := a.upload("leap.mp4", datedClip(t, "2026-03-21"))
	var o struct{ Day string }
	require.NoError(t, json.Unmarshal(a.do("GET", "/takes/"+id, nil).body, &o))
	assert.Equal(t, "2026-03-21", o.Day)
	frame := a.marked(t, id)

	r := a.keepAs(id, frame, `"athlete": "Wren", "condition": "in-skill", "setup": "tripod by the mat", "rater": "Iris", "note": "left knee taped"`)
	require.Equal(t, http.StatusCreated, r.status, "%s", r.body)
	assert.JSONEq(t, `{"where": "in the journal, as reading 1"}`, string(r.body))
	k, kept := inJournal(t, a.data)
	assert.Equal(t, []string{"Wren", "2026-03-21", "unknown", "in-skill", "tripod by the mat", "Iris", "left knee taped"}, []string{k.Athlete, k.Day, k.State, k.Condition, k.Setup, k.Rater, k.Note})

	// the row of the take has what was kept of it
	var list struct{ Takes []struct{ Kept []string } }
	require.NoError(t, json.Unmarshal(a.do("GET", "/takes", nil).body, &list))
	value, plus := uncertainty.Format(kept.AngleDeg, kept.ExpandedUncertaintyDeg)
	assert.Equal(t, []string{"Wren: hip split " + value + "° ± " + plus}, list.Takes[0].Kept)

	// the same again is the same reading; filed otherwise it is refused, and nothing changes
	assert.Equal(t, http.StatusCreated, a.keepAs(id, frame, `"athlete": "wren", "condition": "in-skill", "setup": " tripod by  the mat", "rater": "Iris", "note": "left knee taped"`).status)
	r = a.keepAs(id, frame, `"athlete": "Merlin", "condition": "in-skill", "setup": "tripod by the mat", "rater": "Iris", "note": "left knee taped"`)
	assert.Equal(t, http.StatusUnprocessableEntity, r.status)
	fact, _ := words(t, r)
	assert.Contains(t, fact, `kept already as reading 1, which differs in athlete ("Wren" there, "Merlin" here)`)
	inJournal(t, a.data)
}

func TestWhatIsNotKept(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	a := start(t, t.TempDir()).enter()
	id := a.upload("leap.mp4", clip)
	frame := a.marked(t, id)
	for _, c := range []struct{ with, says string }{
		{`"athlete": " "`, "no athlete was named"},
		{`"athlete": "Wren"`, "the take does not say on which day it was made"},
		{`"athlete": "Wren", "day": "21.3.2026"`, `the day "21.3.2026" is no date`},
		{`"athlete": "Wren", "day": "2999-01-01"`, "the day 2999-01-01 lies ahead of today"},
		{`"athlete": "Wren", "day": "2026-03-21", "state": "hot"`, `the state "hot" is not known`},
		{`"athlete": "Wren", "day": "2026-03-21", "condition": "skill"`, `the condition "skill" is not known`},
		{`"athlete": "Wr\u0007en", "day": "2026-03-21"`, "cannot be kept as a name"},
	} {
		r := a.keepAs(id, frame, c.with)
		assert.Equal(t, http.StatusUnprocessableEntity, r.status, c.with)
		fact, _ := words(t, r)
		assert.Contains(t, fact, c.says)
	}
	r := a.do("POST", "/takes/"+id+"/keep", strings.NewReader(fmt.Sprintf(`{"frame": %d, "version": 0, "athlete": "Wren", "day": "2026-03-21"}`, frame)))
	assert.Equal(t, http.StatusConflict, r.status, "the marks have changed since")

	path, err := program()
	require.NoError(t, err)
	out, err := exec.Command(path, "journal", "list", "--json", "--journal", filepath.Join(a.data, "ecart.journal")).CombinedOutput()
	if err == nil { // the journal checks the name only after it was made
		assert.Equal(t, "[]\n", string(out))
	} else {
		assert.Contains(t, string(out), "there is no journal")
	}
}

// A name that is nearly another is noted, since it may be mistyped.
func TestANameLikeAnother(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "hall.journal")
	a := start(t, t.TempDir(), "--journal", file).enter()
	id := a.upload("leap.mp4", datedClip(t, "2026-03-21"))
	require.Equal(t, http.StatusCreated, a.keepAs(id, a.marked(t, id), `"athlete": "Wren"`).status)
	id = a.upload("second.mp4", datedClip(t, "2026-03-22"))
	r := a.keepAs(id, a.marked(t, id), `"athlete": "Wrenn"`)
	assert.JSONEq(t, `{"where": "in the journal, as reading 2; Wrenn is new there, and there is a Wren"}`, string(r.body))
	assert.FileExists(t, file)
	assert.NoFileExists(t, filepath.Join(a.data, "ecart.journal"), "--journal names another")
}

func TestAPageWithoutAJournalThatWorks(t *testing.T) {
	t.Parallel()
	path, err := program()
	require.NoError(t, err)
	notes := filepath.Join(t.TempDir(), "notes.txt")
	require.NoError(t, os.WriteFile(notes, []byte("these are notes, and no journal"), 0o600))
	out, err := exec.Command(path, "page", "--no-open", "--data", t.TempDir(), "--journal", notes).CombinedOutput()
	var exited *exec.ExitError
	require.ErrorAs(t, err, &exited)
	assert.Equal(t, 2, exited.ExitCode())
	assert.Contains(t, string(out), "is a file of another kind and no journal")
}

// A rater's own figure counts on the page as it does on the command line, and how the
// landmarks were found: both are in the reading, in what is kept, and in the same reading
// made again.
func TestRaterAndHowFoundCount(t *testing.T) {
	t.Parallel()
	a := start(t, t.TempDir()).enter()
	id := a.upload("leap.mp4", datedClip(t, "2026-03-21"))
	frame, marks := demoMarks(t)
	round, err := json.Marshal(marks)
	require.NoError(t, err)
	j, err := journal.Open(filepath.Join(a.data, "ecart.journal"), journal.Options{Create: true})
	require.NoError(t, err)
	require.NoError(t, j.KeepRater(t.Context(), journal.Rater{Name: "Iris", Day: "2026-03-02", SDPx: 0.5, Freedom: 1e6, LongSidePx: 1920}))
	require.NoError(t, j.Close())

	read := func(rater, found string) (r reading.Reading) {
		doc := fmt.Sprintf(`{"version": 0, "skill": "fig-women/split-leap", "rater": %q, "found": %q, "frame": %d, "frames": {"%d": {"rounds": [%s]}}}`, rater, found, frame, frame, round)
		got := a.do("POST", "/takes/"+id+"/reading", strings.NewReader(doc))
		require.Equal(t, http.StatusOK, got.status, "%s", got.body)
		var answer struct{ Reading reading.Reading }
		require.NoError(t, json.Unmarshal(got.body, &answer))
		require.Equal(t, http.StatusOK, a.do("PUT", "/takes/"+id+"/work", strings.NewReader(doc)).status)
		return answer.Reading
	}
	source := func(r reading.Reading, source string) reading.BudgetRow {
		for _, b := range r.Budget {
			if b.Source == source {
				return b
			}
		}
		t.Fatalf("no source %s", source)
		return reading.BudgetRow{}
	}
	unnamed := read("", "")
	bad := a.do("PUT", "/takes/"+id+"/work", strings.NewReader(`{"version": 1, "found": "guessed"}`))
	assert.Equal(t, http.StatusBadRequest, bad.status)

	own := a.do("POST", "/takes/"+id+"/reading", strings.NewReader(fmt.Sprintf(`{"version": 1, "skill": "fig-women/split-leap", "rater": "Iris", "found": "sticker", "frame": %d, "frames": {"%d": {"rounds": [%s]}}}`, frame, frame, round)))
	var named struct{ Reading reading.Reading }
	require.NoError(t, json.Unmarshal(own.body, &named))
	// a click of 0.5 px in place of 1.5, and a hip that was felt and stickered in place of seen
	p := reading.SourcePlacement
	assert.InDelta(t, source(unnamed, p).StandardUncertaintyDeg/3, source(named.Reading, p).StandardUncertaintyDeg, 0.02)
	assert.Contains(t, source(named.Reading, p).How, "0.5 px")
	assert.Contains(t, source(unnamed, reading.SourceLandmark).How, "seen: hip 30 mm")
	assert.Contains(t, source(named.Reading, reading.SourceLandmark).How, "felt, with a sticker: hip 15 mm")

	kept := a.keepAs(id, frame, `"athlete": "Wren", "rater": "Iris"`)
	require.Equal(t, http.StatusCreated, kept.status, "%s", kept.body)
	_, r := inJournal(t, a.data) // which makes it again
	assert.Contains(t, source(r, p).How, "0.5 px", "whoever it is kept for counts")
}

// An angle outside what bodies reach is read, and kept, once somebody confirms it; a
// nudge keeps the confirmation, another pose does not.
func TestAnAngleBeyondBodiesIsConfirmed(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	a := start(t, t.TempDir()).enter()
	id := a.upload("leap.mp4", clip)
	ask := func(beyond float64, elbow string) answered {
		return a.do("POST", "/takes/"+id+"/reading", strings.NewReader(fmt.Sprintf(`{"version": 0, "measure": "shoulder-flexion", "facing": "left", "frame": 3, "frames": {"3": {"beyond_deg": %g,
			"rounds": [{"shoulder": [960, 400], "hip": [960, 700], "elbow": %s}]}}}`, beyond, elbow)))
	}
	r := ask(0, "[1103, 353.6]")
	require.Equal(t, http.StatusUnprocessableEntity, r.status)
	var said struct {
		Error, Hint string
		Confirm     float64 `json:"confirm_deg"`
	}
	require.NoError(t, json.Unmarshal(r.body, &said))
	assert.Contains(t, said.Error, "outside what bodies reach")
	assert.NotContains(t, said.Hint, "--")
	assert.InDelta(t, 252, said.Confirm, 0.5)
	assert.Equal(t, http.StatusOK, ask(said.Confirm, "[1103, 353.6]").status)
	assert.Equal(t, http.StatusOK, ask(said.Confirm, "[1103, 355]").status)
	assert.Equal(t, http.StatusUnprocessableEntity, ask(said.Confirm, "[1103, 390]").status)

	plain := a.do("POST", "/takes/"+id+"/reading", strings.NewReader(`{"version": 0, "measure": "shoulder-flexion", "facing": "left", "frame": 3, "frames": {"3": {"rounds": [{"shoulder": [960, 400], "hip": [960, 700]}]}}}`))
	assert.NotContains(t, string(plain.body), "confirm_deg", "what is missing is not confirmed")
}

// Whoever places all marks of a frame again gets the figure that 'ecart repeat' computes from the
// same marks, and readings with the name are the same on the page and from commands.
func TestBothDoorsRepeat(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	d := twoDoors(t, clip)
	frame, marks := demoMarks(t)
	place := func(version, times int) {
		var rounds []map[string][2]float64
		for i := range times {
			m := map[string][2]float64{}
			for j, l := range asks {
				m[l] = [2]float64{marks[l][0] + float64((i*7+j*3)%5) - 2, marks[l][1] + float64((i*5+j*2)%7) - 3}
			}
			rounds = append(rounds, m)
		}
		data, err := json.Marshal(rounds)
		require.NoError(t, err)
		r := d.page.do("PUT", "/takes/"+d.id+"/work", strings.NewReader(fmt.Sprintf(`{"version": %d, "skill": "fig-women/split-leap", "rater": "Kit", "confidence": 0.9, "frame": %d, "frames": {"%d": {"rounds": %s}}}`, version, frame, frame, data)))
		require.Equal(t, http.StatusOK, r.status, "%s", r.body)
	}
	repeat := func(version int, rater string) answered {
		return d.page.do("POST", "/takes/"+d.id+"/repeat", strings.NewReader(fmt.Sprintf(`{"frame": %d, "version": %d, "rater": %q}`, frame, version, rater)))
	}
	place(0, 1)
	assert.Equal(t, http.StatusUnprocessableEntity, repeat(1, "").status, "nobody is named")
	assert.Equal(t, http.StatusConflict, repeat(9, "Kit").status, "other marks than the window shows")
	once := repeat(1, "Kit")
	assert.Equal(t, http.StatusUnprocessableEntity, once.status, "placed once: %s", once.body)
	assert.NotContains(t, string(once.body), "--")
	place(1, 4)
	got := repeat(2, "Kit")
	require.Equal(t, http.StatusOK, got.status, "%s", got.body)
	assert.Contains(t, string(got.body), "Kit places a point to ")
	require.NoError(t, os.WriteFile(filepath.Join(d.folder, "marks.json"), d.get(frame, "marks.json"), 0o600))
	d.command(true, "repeat", "leap.mp4", "marks.json", "--rater", "Kit", "--keep", "--measure", "hip-split", "--journal", "hall.journal")
	one, _ := d.command(true, "read", "leap.mp4", "--marks", "marks.json", "--json", "--skill", "fig-women/split-leap", "--confidence", "0.9", "--rater", "Kit", "--journal", "hall.journal")
	assert.Equal(t, one, string(d.get(frame, "reading.json")), "a reading with that figure, and with a confidence of 90 %")
}
