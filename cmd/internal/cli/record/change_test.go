package record

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/record"
	"ecart/cmd/internal/trial/desktest"
)

// clockAt returns a clock that stands still.
func clockAt(day string) func() time.Time {
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		panic(err)
	}
	return func() time.Time { return t.Add(17 * time.Hour) }
}

// entries returns the readings of a table in the form of those of scripts.
func entries(t testing.TB, table string) (out []*journal.Entry) {
	for n, line := range strings.Split(strings.TrimSpace(table), "\n") {
		e, err := desktest.Entry(n, strings.Fields(line))
		require.NoError(t, err)
		out = append(out, e)
	}
	return out
}

// filedIn returns a new journal with the readings of a table, of which today is the last day that
// it takes.
func filedIn(t testing.TB, today, table string) (path string) {
	path = filepath.Join(t.TempDir(), "hall.journal")
	j, err := journal.Open(path, journal.Options{Create: true, Now: clockAt(today)})
	require.NoError(t, err)
	defer j.Close()
	for _, e := range entries(t, table) {
		_, err := j.Keep(context.Background(), e)
		require.NoError(t, err)
	}
	return path
}

// halfYear lies on a line of exactly a degree every 30 days, 3 March to 30 August.
const halfYear = `
Wren 2026-03-03 left warm passive hip-split 170 1 180
Wren 2026-04-02 left warm passive hip-split 171 1 180
Wren 2026-05-02 left warm passive hip-split 172 1 180
Wren 2026-06-01 left warm passive hip-split 173 1 180
Wren 2026-07-01 left warm passive hip-split 174 1 180
Wren 2026-07-31 left warm passive hip-split 175 1 180
Wren 2026-08-30 left warm passive hip-split 176 1 180`

func changeAt(t testing.TB, today, table string) (*record.Change, error) {
	return changeOf(t, "2027-12-31", today, table, record.Goal{})
}

func changeOf(t testing.TB, last, today, table string, goal record.Goal) (*record.Change, error) {
	d := record.New(desk.New(desk.Options{Journal: filedIn(t, last, table), Now: clockAt(today)}))
	return d.Change(context.Background(), record.ChangeAsk{Filter: journal.Filter{Athlete: "Wren"}, Goal: goal, Confidence: 0.95})
}

func TestChangeLine(t *testing.T) {
	asked := 179.95
	c, err := changeOf(t, "2026-09-10", "2026-09-10", halfYear, record.Goal{Deg: &asked})
	require.NoError(t, err)
	require.Len(t, c.Trends, 1)
	l := c.Trends[0].Line
	require.NotNil(t, l)
	const rounding = 1e-9 // of some hundred sums
	assert.InDelta(t, 365.25/12/30, l.SlopeDeg, rounding, "a degree every 30 days, in months of 365.25/12 days")
	assert.True(t, c.Trends[0].Real)
	assert.InDelta(t, 6, c.Trends[0].ChangeDeg, rounding)
	assert.Contains(t, c.Trends[0].Sentence, "up 6.0° since 3 March, a real change")
	// the line comes to 179.95 3.95 degrees, so 118.5 days, after 30 August
	require.NotNil(t, c.Trends[0].Reach.At)
	assert.Equal(t, "2026-12-27", c.Trends[0].Reach.At.Format(time.DateOnly))
	assert.Empty(t, c.Notes, "the last reading is 11 days old")

	var b bytes.Buffer
	require.NoError(t, printChange(&b, c, false))
	assert.Contains(t, b.String(), "+1.01° ± ")
	assert.Contains(t, b.String(), "2026-08-30  176.0 ± 2.0")
}

func TestChangeClock(t *testing.T) {
	for _, c := range []struct{ today, note string }{
		{"2026-10-29", ""}, // 60 days after 30 August
		{"2026-10-30", "the last reading is of 30 August 2026, 61 days ago: what came after it is not known"},
		{"2026-08-18", "1 reading filed under a day ahead of today, 2026-08-18, left out (reading 7, 2026-08-30): set this machine's clock, or file it under its day"},
	} {
		got, err := changeAt(t, c.today, halfYear)
		require.NoError(t, err)
		if c.note == "" {
			assert.Empty(t, got.Notes, c.today)
			continue
		}
		assert.Equal(t, []string{c.note}, got.Notes)
	}
	_, err := changeAt(t, "2026-03-02", halfYear)
	require.ErrorContains(t, err, "reading 1 and all others are filed under days ahead of today, 2026-03-02: 2026-03-03")
	assert.Contains(t, hintOf(t, err), "clock")
}

// The day from which a reading could show a change may be in the past.
func TestChangeNextDayPast(t *testing.T) {
	const two = `
Wren 2026-03-03 left warm passive hip-split 170 2 180
Wren 2026-04-02 left warm passive hip-split 172 2 180`
	c, err := changeAt(t, "2026-04-03", two)
	require.NoError(t, err)
	next := c.Trends[0].NextDay
	require.NotNil(t, next, "2 degrees in 30 days are not real with 2 degrees each, and will be")
	assert.Empty(t, c.Notes)
	assert.Contains(t, c.Trends[0].Sentence, "missing: two more days with a reading")
	c, err = changeAt(t, next.Format(time.DateOnly), two)
	require.NoError(t, err)
	assert.Contains(t, c.Notes, next.Format("2 January 2006")+" is past: the next reading could show it")
}

func TestChangeSides(t *testing.T) {
	c, err := changeAt(t, "2026-05-05", `
Wren 2026-03-03 left warm passive hip-split 170 1 180
Wren 2026-03-03 right warm passive hip-split 176 1 180
Wren 2026-04-02 left warm passive hip-split 171 1 180
Wren 2026-04-02 right warm passive hip-split 177 1 180
Wren 2026-04-02 - warm passive hip-split 177 1 180`)
	require.NoError(t, err)
	require.Len(t, c.Trends, 2)
	assert.Equal(t, "left", c.Trends[0].Side)
	assert.Equal(t, "right", c.Trends[1].Side)
	require.NotNil(t, c.Sides)
	const rounding = 1e-9
	assert.InDelta(t, -6, c.Sides.MeanDeg, rounding, "left minus right")
	assert.True(t, c.Sides.Real)
	assert.Equal(t, []string{"1 reading of which the side was not said, left out"}, c.Notes)
	notes := strings.Join(c.AllNotes(), "\n")
	assert.Equal(t, 1, strings.Count(notes, "an athlete varies from day to day"), "what holds of both is said once")

	c, err = changeAt(t, "2026-05-05", `
Wren 2026-03-03 left warm passive hip-split 170 1 180
Wren 2026-04-02 right warm passive hip-split 177 1 180`)
	require.NoError(t, err)
	assert.Nil(t, c.Sides)
	assert.Contains(t, c.NoSides, "no day on which the left and the right were both read alike")
}

// A change between different states is named as such, and is separate from the trend.
func TestChangeUnlikeStates(t *testing.T) {
	c, err := changeAt(t, "2026-05-05", `
Wren 2026-03-03 left cold passive hip-split 170 1 180
Wren 2026-04-02 left warm passive hip-split 177 1 180
Wren 2026-04-09 left warm passive hip-split 177 1 180`)
	require.NoError(t, err)
	require.NotNil(t, c.Unlike)
	assert.Equal(t, 7.0, c.Unlike.ChangeDeg)
	require.NotEmpty(t, c.Unlike.Cautions)
	assert.Contains(t, c.Unlike.Cautions[0], "unlike states: cold before, warm after")
	assert.Equal(t, []string{"not used: 1 reading (1): state cold and not warm"}, record.LeftOutWords(c.Trends[0].LeftOut))

	c, err = changeAt(t, "2026-09-10", halfYear)
	require.NoError(t, err)
	assert.Nil(t, c.Unlike, "all are warm")
}

func TestChangeSession(t *testing.T) {
	c, err := changeAt(t, "2026-03-04", `
Wren 2026-03-03 left cold passive hip-split 170 1 180 session=evening
Wren 2026-03-03 left warm passive hip-split 177 1 180 session=evening
Wren 2026-03-03 left after passive hip-split 176 1 180 session=evening`)
	require.NoError(t, err)
	require.Len(t, c.Sessions, 2)
	assert.Equal(t, 7.0, c.Sessions[0].ChangeDeg)
	assert.Equal(t, -1.0, c.Sessions[1].ChangeDeg)
	var b bytes.Buffer
	require.NoError(t, printChange(&b, c, false))
	assert.Contains(t, b.String(), "before and after of one session\n  2026-03-03 evening: cold to warm +7.0° ± ")
	assert.Contains(t, b.String(), "warm to after -1.0°")
}

// Of many days only the first and the last ones are in the table, but all in the JSON.
func TestChangeManyDays(t *testing.T) {
	var table strings.Builder
	first := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)
	for n := range 60 {
		fmt.Fprintf(&table, "Wren %s left warm passive hip-split %d 1 180\n", first.AddDate(0, 0, n).Format(time.DateOnly), 150+n/4)
	}
	c, err := changeAt(t, "2025-03-10", table.String())
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, printChange(&b, c, false))
	rows := func() int { return strings.Count(b.String(), "●") }
	assert.Equal(t, mostDays-1, rows(), "a row says how many are hidden")
	assert.Contains(t, b.String(), "\n2025-01-01 ")
	assert.Contains(t, b.String(), "\n  37 days between: --every-day shows them\n2025-02-08 ")
	assert.Contains(t, b.String(), "\n2025-03-01 ")
	b.Reset()
	require.NoError(t, printChange(&b, c, true))
	assert.Equal(t, 60, rows())
}

// Values that are not known are left out of the JSON, which has no number for them.
func TestChangeJSON(t *testing.T) {
	for _, table := range []string{halfYear, "Wren 2026-03-03 left warm passive hip-split 170 1 180", "Wren 2026-03-03 - - - hip-split 170 1 -"} {
		c, err := changeAt(t, "2026-09-10", table)
		require.NoError(t, err)
		data, err := json.Marshal(c)
		require.NoError(t, err)
		assert.NotContains(t, string(data), "null", table)
	}
}

func hintOf(t testing.TB, err error) string {
	var h interface{ Hint() string }
	require.ErrorAs(t, err, &h)
	return h.Hint()
}

// The angle asked is drawn in its column, and an interval in its columns.
func TestBar(t *testing.T) {
	s := terminal.Scale{From: 100, To: 110, Width: 11} // a column a degree
	asked := 110.0
	assert.Equal(t, "  ┣━●━┫   ╎", s.Bar(104, [2]float64{102, 106}, &asked))
	assert.Equal(t, "┣━●━┫", s.Bar(102, [2]float64{90, 104}, nil), "what goes past the end is cut there")
	assert.Equal(t, "100      110", terminal.Scale{From: 100, To: 110, Width: 12}.Labels(110, 100))
	assert.Equal(t, "        110", s.Labels(110, 109), "there is no room for both")
}
