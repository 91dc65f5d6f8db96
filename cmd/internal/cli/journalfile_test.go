package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// splitEntry is a real reading of a split, to be kept.
func splitEntry(t testing.TB, athlete, day string) *journal.Entry {
	const marks = `{"schema": "ecart/marks/1", "frame": 12, "marks": [{"landmark": "hip", "x": 960, "y": 500},
		{"landmark": "front-ankle", "x": 1260, "y": 540}, {"landmark": "back-ankle", "x": 660, "y": 540}, {"landmark": "shoulder", "x": 965, "y": 300}]}`
	m, ok := geometry.Lookup("hip-split")
	require.True(t, ok)
	parsed, err := reading.ParseMarks("marks", []byte(marks))
	require.NoError(t, err)
	q := reading.Request{Take: reading.Take{Name: "split.mp4", SHA256: fmt.Sprintf("%064x", 77), Frame: 12, TimeS: 0.2, WidthPx: 1920, HeightPx: 1080},
		Marks: parsed, Measure: m, Seed: 1, MaxDraws: 20_000,
		Skill: &reading.Skill{Rulebook: "hall", Name: "full-split", Title: "full split", Measure: "hip-split", AskedDeg: 180}}
	r, err := reading.Read(q)
	require.NoError(t, err)
	data, err := json.Marshal(r)
	require.NoError(t, err)
	return &journal.Entry{Athlete: athlete, Day: day, State: "warm", Condition: "passive", Side: "left", Rater: "Iris", Setup: "by the wall", Session: "evening",
		Marks: []byte(marks), Request: journal.NewRequest(&q, nil, nil), Reading: data}
}

func TestChangeReadings(t *testing.T) {
	ctx := context.Background()
	j, err := openJournal(filepath.Join(t.TempDir(), "hall.journal"), journal.Options{Create: true})
	require.NoError(t, err)
	defer j.Close()
	e := splitEntry(t, "Wren", "2026-03-03")
	id, err := j.Keep(ctx, e)
	require.NoError(t, err)
	r, err := e.Parse()
	require.NoError(t, err)

	want := change.FromReading(r)
	want.Athlete = "Wren"
	want.ID, want.Day, want.Session = id, time.Date(2026, 3, 3, 0, 0, 0, 0, time.UTC), "evening"
	want.Side, want.State, want.Condition, want.Rater, want.Setup = "left", "warm", "passive", "Iris", "by the wall"
	whole, err := changeReadings(ctx, j, journal.Filter{Athlete: "wren"})
	require.NoError(t, err)
	assert.Equal(t, []change.Reading{want}, whole)

	rows, err := j.List(ctx, journal.Filter{Athlete: "Wren"})
	require.NoError(t, err)
	quick, err := changeRows(rows)
	require.NoError(t, err)
	want.Density = reading.Density{}
	assert.Equal(t, []change.Reading{want}, quick, "the same but for the density")

	_, err = changeReadings(ctx, j, journal.Filter{Athlete: "Merlin"})
	assert.ErrorIs(t, err, journal.ErrAbsent)
}

func TestJournalFlags(t *testing.T) {
	t.Setenv("XDG_DATA_HOME", "/data")
	path, err := journalPath("")
	require.NoError(t, err)
	assert.Equal(t, "/data/ecart/ecart.journal", path)
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"--athlete", "Wren", "--measure", "hip-split", "--side", "left", "--state", "unknown", "--condition", "in-skill", "--from", "2026-01-01", "--to", "2026-01-01"}, ""},
		{[]string{"--state", "hot"}, `--state "hot" is not known`},
		{[]string{"--measure", "hip"}, `--measure "hip" is not known`},
		{[]string{"--from", "3 March"}, `--from "3 March" is no date`},
		{[]string{"--to", "2026-02-30"}, `--to "2026-02-30" is no date`},
		{[]string{"--from", "2026-03-02", "--to", "2026-03-01"}, "--from 2026-03-02 is later than --to 2026-03-01"},
	} {
		f := pflag.NewFlagSet("list", pflag.ContinueOnError)
		var q journal.Filter
		var file string
		addJournal(f, &file)
		addFilter(f, &q)
		require.NoError(t, f.Parse(append(c.args, "--journal", "here")))
		assert.Equal(t, "here", file)
		if err := checkFilter(q); c.says != "" {
			assert.ErrorContains(t, err, c.says)
		} else {
			assert.NoError(t, err)
		}
	}
}
