package page_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/reading"
	"ecart/geometry/camera"
)

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
		d.page.takeIn(name, clip)
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

// squad are the readings of a list by 'ecart squad', by their takes.
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

// A list's cells for a camera that is so far from square, for a lens file and for the stickers' colours
// are read on the page as 'ecart squad' reads them. A lens file that is not here is named until it comes.
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
		d.page.takeIn(filepath.Base(path), clip)
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
