package record

import (
	"bytes"
	"context"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/desktest"
)

func TestChangeReadings(t *testing.T) {
	ctx := context.Background()
	j, err := journal.Open(filepath.Join(t.TempDir(), "hall.journal"), journal.Options{Create: true})
	require.NoError(t, err)
	defer j.Close()
	e := desktest.SplitEntry(t, "Wren", "2026-03-03")
	// the frames around said that it missed more than the prior allows
	e.Reading = bytes.Replace(e.Reading, []byte(`"least_deg":0,"most_deg":5,`), []byte(`"least_deg":6,"most_deg":11,`), 1)
	id, err := j.Keep(ctx, e)
	require.NoError(t, err)
	r, err := e.Parse()
	require.NoError(t, err)

	want := change.FromReading(r)
	require.Equal(t, [2]float64{6, 11}, want.Missed)
	want.Athlete = "Wren"
	want.ID, want.Day, want.Session = id, time.Date(2026, 3, 3, 0, 0, 0, 0, time.UTC), "evening"
	want.Side, want.State, want.Condition, want.Rater, want.Setup = "left", "warm", "passive", "Iris", "by the wall"
	whole, err := changeReadings(ctx, j, journal.Filter{Athlete: "wren"})
	require.NoError(t, err)
	assert.Equal(t, []change.Reading{want}, whole)

	rows, err := j.List(ctx, journal.Filter{Athlete: "Wren", Moments: true})
	require.NoError(t, err)
	quick, err := changeRows(rows)
	require.NoError(t, err)
	want.Density = reading.Density{}
	assert.Equal(t, []change.Reading{want}, quick, "the same but for the density, also what the frame missed")
	rows, err = j.List(ctx, journal.Filter{Athlete: "Wren"})
	require.NoError(t, err)
	_, err = changeRows(rows)
	assert.ErrorContains(t, err, "listed without its moment")

	_, err = changeReadings(ctx, j, journal.Filter{Athlete: "Merlin"})
	assert.ErrorIs(t, err, journal.ErrAbsent)
}
