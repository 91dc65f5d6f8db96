package page_test

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/geometry/camera"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// doors has a page and a folder for commands, with the same take. Each has a journal of its own,
// in which Iris places marks with a standard deviation of 0.5 px.
type doors struct {
	t      *testing.T
	page   *app
	folder string
	id     string // of the take on the page
	frame  int    // with the demo's marks
	env    []string
}

func twoDoors(t *testing.T, clip []byte) *doors {
	d := &doors{t: t, page: start(t, t.TempDir()).enter(), folder: t.TempDir()}
	d.frame, _ = demoMarks(t)
	require.NoError(t, os.WriteFile(filepath.Join(d.folder, "leap.mp4"), clip, 0o600))
	for _, file := range []string{filepath.Join(d.folder, "hall.journal"), filepath.Join(d.page.data, "ecart.journal")} {
		j, err := journal.Open(file, journal.Options{Create: true})
		require.NoError(t, err)
		require.NoError(t, j.KeepRater(t.Context(), journal.Rater{Name: "Iris", Day: "2026-03-02", SDPx: 0.5, Freedom: 1e6, LongSidePx: 1920}))
		require.NoError(t, j.Close())
	}
	d.id = d.page.upload("leap.mp4", clip)
	return d
}

// command runs ecart in the folder and returns what it prints; ok: it must succeed.
func (d *doors) command(ok bool, args ...string) (out, said string) {
	d.t.Helper()
	path, err := program()
	require.NoError(d.t, err)
	c := exec.Command(path, args...)
	c.Dir, c.Env = d.folder, append(os.Environ(), d.env...)
	var o, e bytes.Buffer
	c.Stdout, c.Stderr = &o, &e
	err = c.Run()
	require.Equal(d.t, ok, err == nil, "%v: %s", args, &e)
	return o.String(), e.String()
}

// get requests something of a frame from the page.
func (d *doors) get(frame int, what string) []byte {
	d.t.Helper()
	r := d.page.do("GET", fmt.Sprintf("/takes/%s/frames/%d/%s", d.id, frame, what), nil)
	require.Equal(d.t, http.StatusOK, r.status, "%s: %s", what, r.body)
	return r.body
}

// work returns the work on the take: the demo's marks on their frame, to be read or as seeds.
func (d *doors) work(version int, seeds bool) string {
	_, marks := demoMarks(d.t)
	if seeds {
		delete(marks, "shoulder") // on which there is no sticker
	}
	round, err := json.Marshal(marks)
	require.NoError(d.t, err)
	return fmt.Sprintf(`{"version": %d, "skill": "fig-women/split-leap", "camera": "by-eye", "stature_cm": 152, "rater": "Iris", "frame": %d,
		"frames": {"%d": {"seeds": %v, "rounds": [%s]}}}`, version, d.frame, d.frame, seeds, round)
}

// store stores the work, and the marks file of its frame in the folder.
func (d *doors) store(version int, seeds bool, file string) {
	d.t.Helper()
	r := d.page.do("PUT", "/takes/"+d.id+"/work", strings.NewReader(d.work(version, seeds)))
	require.Equal(d.t, http.StatusOK, r.status, "%s", r.body)
	require.NoError(d.t, os.WriteFile(filepath.Join(d.folder, file), d.get(d.frame, "marks.json"), 0o600))
}

// asked returns the flags with the values of the work.
func asked(command ...string) []string {
	return append(command, "--skill", "fig-women/split-leap", "--camera", "by-eye", "--stature", "152cm", "--rater", "Iris", "--journal", "hall.journal")
}

// shown returns a kept reading without the fields that belong to its journal alone.
func (d *doors) shown(journal string) (entry map[string]any) {
	d.t.Helper()
	out, _ := d.command(true, "journal", "show", "1", "--json", "--journal", journal)
	require.NoError(d.t, json.Unmarshal([]byte(out), &entry))
	delete(entry, "kept_at")
	return entry
}

// unmarked returns a picture, a page or a clip without the mark by which a command recognizes its own
// files: a chunk of a PNG (length, "ecRT", data, checksum), a comment at the end of a page, a
// box at the end of a clip.
func unmarked(data []byte) []byte {
	if page, ok := bytes.CutSuffix(data, []byte("<!-- ecart page -->\n")); ok {
		return page
	}
	if clip, ok := bytes.CutSuffix(data, []byte("\x00\x00\x00\x12freeecart clip")); ok {
		return clip
	}
	at := bytes.Index(data, []byte("ecRT")) - 4
	if at < 0 {
		return data
	}
	end := at + 12 + int(binary.BigEndian.Uint32(data[at:]))
	return append(bytes.Clone(data[:at]), data[end:]...)
}

// TestBothDoors does the same work on the page and with commands and
// compares the results: a reading with a rater's own figure, its picture and its sheets, the kept reading and the
// recomputed one; stickers that are followed, the peak and a frame beside it.
func TestBothDoors(t *testing.T) {
	t.Parallel()
	clip, err := leapOnly()
	require.NoError(t, err)
	d := twoDoors(t, dated(t, clip, "2026-03-21"))
	d.frame -= leapFrom
	frame := d.frame
	d.store(0, false, "marks.json")
	one, _ := d.command(true, asked("read", "leap.mp4", "--marks", "marks.json", "--json", "--figure", "one.png", "--keep", "Wren", "--condition", "in-skill")...)
	assert.Equal(t, one, string(d.get(frame, "reading.json")), "a reading")
	png, err := os.ReadFile(filepath.Join(d.folder, "one.png"))
	require.NoError(t, err)
	assert.True(t, bytes.Equal(unmarked(png), d.get(frame, "figure.png")), "its picture")
	plain := []string{"sheet", "reading", "one.json", "--take", "leap.mp4", "--who", "Wren", "--out", "sheet.html"}
	require.NoError(t, os.WriteFile(filepath.Join(d.folder, "one.json"), []byte(one), 0o600))
	for _, c := range []struct {
		query string
		flags []string
	}{
		{"for=judge", []string{"--for", "judge"}},
		{"for=athlete", []string{"--for", "athlete"}},
		{"for=parent", []string{"--for", "parent"}},
		{"for=judge&paper=letter&covered=yes", []string{"--for", "judge", "--paper", "letter", "--faceless"}},
		{"for=parent&cover=1000,300,90.5&cover=1200,310,60", []string{"--for", "parent", "--cover", "1000,300,90.5", "--cover", "1200,310,60"}},
	} {
		d.command(true, append(append(plain, "--force"), c.flags...)...)
		page, err := os.ReadFile(filepath.Join(d.folder, "sheet.html"))
		require.NoError(t, err)
		assert.Equal(t, string(unmarked(page)), string(d.get(frame, "sheet.html?who=Wren&"+c.query)), "its sheet, %s", c.query)
		assert.Equal(t, string(unmarked(page)), string(d.get(frame, "sheet.html?show=yes&who=Wren&"+c.query)), "its preview, %s", c.query)
	}
	kept := d.page.do("POST", "/takes/"+d.id+"/keep", strings.NewReader(fmt.Sprintf(`{"frame": %d, "version": 1, "athlete": "Wren", "condition": "in-skill", "rater": "Iris"}`, frame)))
	require.Equal(t, http.StatusCreated, kept.status, "%s", kept.body)
	ofPage := filepath.Join(d.page.data, "ecart.journal")
	assert.Equal(t, d.shown("hall.journal"), d.shown(ofPage), "what is kept")
	d.command(true, "sheet", "reading", "--entry", "1", "--take", "leap.mp4", "--journal", ofPage, "--for", "athlete", "--paper", "letter", "--cover", "1000,300,90", "--out", "kept.html")
	page, err := os.ReadFile(filepath.Join(d.folder, "kept.html"))
	require.NoError(t, err)
	ofKept := d.page.do("GET", "/readings/1/sheet.html?for=athlete&paper=letter&cover=1000,300,90&take="+d.id, nil)
	assert.Equal(t, string(unmarked(page)), string(ofKept.body), "the sheet of what is kept")
	for _, file := range []string{"hall.journal", ofPage} {
		out, _ := d.command(true, "journal", "recompute", "--json", "--journal", file)
		assert.Contains(t, out, `"same": 1`, "made again")
	}

	assert.Contains(t, string(d.page.do("GET", "/athletes/1?wide=110", nil).body), `"statures":["152 cm on 21 March 2026"]`)

	// a mark that the angle needs is missing: the error says so, and nothing is followed
	short := strings.Replace(d.work(1, true), `"hip":`, `"front-knee":`, 1)
	refused := d.page.do("POST", "/takes/"+d.id+"/follow", strings.NewReader(short))
	require.Equal(t, http.StatusUnprocessableEntity, refused.status, "%s", refused.body)
	assert.Contains(t, string(refused.body), "no sticker is marked on the hip")

	// the same stickers, from the same seeds
	d.store(1, true, "seeds.json")
	peak, _ := d.command(true, asked("follow", "leap.mp4", "--seeds", "seeds.json", "--csv", "track.csv", "--clip", "drawn.mp4", "--json")...)
	begun := d.page.do("POST", "/takes/"+d.id+"/follow", strings.NewReader(d.work(2, true)))
	require.Equal(t, http.StatusAccepted, begun.status, "%s", begun.body)
	track := filepath.Join(d.page.data, "tracks", d.id+".csv")
	require.Eventually(t, func() bool { _, err := os.Stat(track); return err == nil }, 2*time.Minute, 50*time.Millisecond)
	marks := func(path string) *reading.Track {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		t2, err := reading.ParseTrack(path, data)
		require.NoError(t, err)
		for i := range t2.Frames { // the page computes the angle for the measure that is chosen
			t2.Frames[i].AngleDeg, t2.Frames[i].SDDeg = 0, 0
		}
		return t2
	}
	assert.Equal(t, marks(filepath.Join(d.folder, "track.csv")), marks(track), "what was followed")
	drawn := d.page.do("POST", "/takes/"+d.id+"/clip", strings.NewReader(d.work(2, true)))
	require.Equal(t, http.StatusAccepted, drawn.status, "%s", drawn.body)
	clip, err = os.ReadFile(filepath.Join(d.folder, "drawn.mp4"))
	require.NoError(t, err)
	require.Eventually(t, func() bool {
		return d.page.do("GET", "/takes/"+d.id+"/clip.mp4", nil).status == http.StatusOK
	}, 2*time.Minute, 100*time.Millisecond)
	assert.True(t, bytes.Equal(unmarked(clip), d.page.do("GET", "/takes/"+d.id+"/clip.mp4", nil).body), "its clip")
	var at reading.Reading
	require.NoError(t, json.Unmarshal([]byte(peak), &at))
	assert.Equal(t, peak, string(d.get(at.Take.Frame, "reading.json")), "the peak")
	beside, _ := d.command(true, asked("read", "leap.mp4", "--marks", "track.csv", "--at", fmt.Sprint(at.Take.Frame+7), "--json")...)
	assert.Equal(t, beside, string(d.get(at.Take.Frame+7, "reading.json")), "a frame beside it")
}

// The page and the commands ask for the way the chest faces if it decides the angle; the value in a
// track holds for its frames.
func TestBothDoorsAskForTheChest(t *testing.T) {
	t.Parallel()
	clip, _ := demotake.Files()
	d := twoDoors(t, clip)
	const marks = `"hip": [900, 560], "front-ankle": [930, 980], "back-ankle": [890, 150], "shoulder": [900, 360]`
	work := `{"version": 0, "measure": "hip-split", "frame": 3, "frames": {"3": {"rounds": [{` + marks + `}]}}}`
	require.Equal(t, http.StatusOK, d.page.do("PUT", "/takes/"+d.id+"/work", strings.NewReader(work)).status)
	require.NoError(t, os.WriteFile(filepath.Join(d.folder, "marks.json"), d.get(3, "marks.json"), 0o600))
	_, said := d.command(false, "read", "leap.mp4", "--marks", "marks.json", "--measure", "hip-split")
	fact, _, _ := strings.Cut(said, "\n")
	refused := d.page.do("GET", "/takes/"+d.id+"/frames/3/reading.json", nil)
	require.Equal(t, http.StatusUnprocessableEntity, refused.status)
	what, _ := words(t, refused)
	assert.Equal(t, fact, what)
}

// TestBothDoorsOfASession gives a session's list to 'ecart squad' and to the page, keeps what the
// page reads, and compares the readings and the session's sheet, byte for byte. No rater is named:
// what is noted of one while a list is read is not in the journal.
func TestBothDoorsOfASession(t *testing.T) {
	t.Parallel()
	_, marks := demotake.Files()
	frame, _ := demoMarks(t)
	d := &doors{t: t, page: start(t, t.TempDir()).enter(), folder: t.TempDir()}
	placed := fromJSON[reading.Marks](t, string(marks))
	files := map[string]string{}
	for name, squeezed := range map[string]float64{"leap.json": 1, "wider.json": 0.6} {
		for i := range placed.Marks {
			placed.Marks[i].Y, placed.Marks[i].SDPx = 540+(placed.Marks[i].Y-540)*squeezed, nil // as they are placed by hand
		}
		text, err := json.Marshal(placed)
		require.NoError(t, err)
		files[name] = string(text)
	}
	lines := []string{"athlete,take,marks,skill,camera,distance,stature,condition,state,day,setup,note"}
	paths := copies(t, "wren.mp4", "kit.mp4", "lio.mp4")
	for i, row := range []string{
		"Wren,wren.mp4,leap.json,fig-women/split-leap,by-eye,6m,152cm,in-skill,warm,2026-03-02,tripod by the mat,left knee taped",
		"Kit,kit.mp4,leap.json,fig-women/split-leap,squared,,,passive,,2026-03-02,,",
		"Kit,lio.mp4,wider.json,fig-women/split-leap,squared,,,in-skill,,2026-03-02,,",
	} {
		lines = append(lines, row)
		clip, err := os.ReadFile(paths[i])
		require.NoError(t, err)
		name := filepath.Base(paths[i])
		require.NoError(t, os.WriteFile(filepath.Join(d.folder, name), clip, 0o600))
		d.page.upload(name, clip)
	}
	list := strings.Join(lines, "\n") + "\n"
	require.NoError(t, os.WriteFile(filepath.Join(d.folder, "monday.csv"), []byte(list), 0o600))
	for name, text := range files {
		require.NoError(t, os.WriteFile(filepath.Join(d.folder, name), []byte(text), 0o600))
		r := d.page.do("POST", "/today/marks?name="+name, strings.NewReader(text))
		require.Equal(t, http.StatusNoContent, r.status, "%s", r.body)
	}
	r := d.page.do("POST", "/today/list?name=monday.csv", strings.NewReader(list))
	require.Equal(t, http.StatusNoContent, r.status, "%s", r.body)

	var today struct {
		Rows []struct{ ID, Athlete string }
	}
	require.NoError(t, json.Unmarshal(d.page.do("GET", "/today", nil).body, &today))
	require.Len(t, today.Rows, 3)
	byTake := d.squad("monday.csv")
	for _, row := range today.Rows {
		opened := fromJSON[struct {
			Said struct{ Athlete, Day, State, Condition, Setup, Note string }
		}](t, string(d.page.do("GET", "/takes/"+row.ID, nil).body))
		work := fromJSON[struct {
			Version int
			Rater   string
		}](t, string(d.page.do("GET", "/takes/"+row.ID+"/work", nil).body))
		got := fromJSON[reading.Reading](t, string(d.page.do("GET", fmt.Sprintf("/takes/%s/frames/%d/reading.json", row.ID, frame), nil).body))
		got.Take.Name = "" // which a list leaves out
		assert.Equal(t, byTake[row.ID], got, "the reading of %s", row.Athlete)
		s := opened.Said
		body, err := json.Marshal(map[string]any{"frame": frame, "version": work.Version, "athlete": s.Athlete, "day": s.Day, "state": s.State, "condition": s.Condition,
			"setup": s.Setup, "rater": work.Rater, "note": s.Note})
		require.NoError(t, err)
		kept := d.page.do("POST", "/takes/"+row.ID+"/keep", strings.NewReader(string(body)))
		require.Equal(t, http.StatusCreated, kept.status, "%s", kept.body)
	}
	sheet := d.page.do("GET", "/today/session.html?for=coach", nil)
	require.Equal(t, http.StatusOK, sheet.status, "%s", sheet.body)
	d.command(true, "sheet", "session", "monday.csv", "--out", "session.html")
	page, err := os.ReadFile(filepath.Join(d.folder, "session.html"))
	require.NoError(t, err)
	assert.Equal(t, string(unmarked(page)), string(sheet.body), "the session's sheet")
	assert.Contains(t, sheet.header.Get("Content-Disposition"), "session-")

	// and who is what
	came := fromJSON[struct{ Came []string }](t, string(d.page.do("GET", "/today", nil).body)).Came
	assert.Equal(t, []string{"2 short of what is asked: Wren, Kit"}, came)
}

// squad returns the readings of a list by 'ecart squad', by their takes.
func (d *doors) squad(list string) map[string]reading.Reading {
	d.t.Helper()
	printed, _ := d.command(true, "squad", list, "--json")
	report := fromJSON[struct {
		Athletes []struct {
			Athlete  string
			Readings []struct{ Reading reading.Reading }
		}
	}](d.t, printed)
	byTake := map[string]reading.Reading{}
	for _, a := range report.Athletes {
		for _, one := range a.Readings {
			byTake[one.Reading.Take.SHA256] = one.Reading
		}
	}
	return byTake
}

// The cells of a list for an oblique camera, for a lens file and for the stickers' colours
// are read on the page as 'ecart squad' reads them. A missing lens file is named until it is dropped.
func TestBothDoorsReadEveryColumn(t *testing.T) {
	t.Parallel()
	_, marks := demotake.Files()
	placed := fromJSON[reading.Marks](t, string(marks))
	for i := range placed.Marks {
		placed.Marks[i].SDPx = nil // as they are placed by hand
	}
	placed.Frame -= leapFrom
	at, err := json.Marshal(placed)
	require.NoError(t, err)
	lens, err := (&camera.Lens{Width: 1920, Height: 1080, Fx: 1500, Fy: 1500, Cx: 955, Cy: 545, Dist: [5]float64{-0.05, 0.01}}).File(0.2, 10)
	require.NoError(t, err)
	d := &doors{t: t, page: start(t, t.TempDir()).enter(), folder: t.TempDir()}
	for _, path := range leaps(t, "wren.mp4", "kit.mp4") {
		clip, err := os.ReadFile(path)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(d.folder, filepath.Base(path)), clip, 0o600))
		d.page.upload(filepath.Base(path), clip)
	}
	list := "athlete,take,marks,colours,skill,oblique,lens,day\n" +
		"Wren,wren.mp4,leap.json,,fig-women/split-leap,3,Phone.lens.json,2026-03-02\n" +
		"Kit,kit.mp4,,\"hip=#d01ef0,front-ankle=#28dc28,back-ankle=#1e90ff\",fig-women/split-leap,,,2026-03-02\n"
	for name, text := range map[string]string{"leap.json": string(at), "Phone.lens.json": string(lens), "monday.csv": list} {
		require.NoError(t, os.WriteFile(filepath.Join(d.folder, name), []byte(text), 0o600))
	}
	drop := func(address, text string) {
		r := d.page.do("POST", address, strings.NewReader(text))
		require.Equal(t, http.StatusNoContent, r.status, "%s", r.body)
	}
	notes := func() string { return string(d.page.do("GET", "/today", nil).body) }
	drop("/today/marks?name=leap.json", string(at))
	drop("/today/list?name=monday.csv", list)
	assert.Contains(t, notes(), `its lens file \"Phone.lens.json\" is not here: drop it`)
	assert.NotContains(t, notes(), "marks: hip", "of the row with colours no mark is missing")
	drop("/today/marks?name=phone.LENS.json", string(lens))
	assert.NotContains(t, notes(), "is not here")

	byTake := d.squad("monday.csv")
	require.Len(t, byTake, 2)
	for id, want := range byTake {
		var frame int
		require.Eventually(t, func() bool { // the peak is the moment once the colours are followed
			work := fromJSON[struct{ Frame int }](t, string(d.page.do("GET", "/takes/"+id+"/work", nil).body))
			frame = work.Frame
			return frame == want.Take.Frame
		}, 2*time.Minute, 50*time.Millisecond)
		got := fromJSON[reading.Reading](t, string(d.page.do("GET", fmt.Sprintf("/takes/%s/frames/%d/reading.json", id, frame), nil).body))
		got.Take.Name = "" // which a list leaves out
		assert.Equal(t, want, got)
	}
	assert.NotContains(t, notes(), "is not read here")
}
