package record

import (
	"context"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/desktest"
)

// A reading that was kept by a version that did not ask how its landmarks were found keeps its figures
// when it is listed, compared and exported. Recomputed it counts as seen; recompute says so,
// and writes only if asked to.
func TestOlderReadingKeepsItsNumber(t *testing.T) {
	file := filepath.Join(t.TempDir(), "hall.journal")
	e := desktest.SplitEntry(t, "Wren", "2026-03-03")
	e.Request.Found = "sticker" // which is what the one figure of before stood for
	q, err := desk.Again(e)
	require.NoError(t, err)
	older, err := reading.Read(q)
	require.NoError(t, err)
	e.Request.Found = ""
	e.Reading, err = json.Marshal(older)
	require.NoError(t, err)
	var kept int64
	require.NoError(t, inJournal(file, journal.Options{Create: true}, func(j *journal.Journal) (err error) {
		kept, err = j.Keep(t.Context(), e)
		return err
	}))

	shows := func() float64 {
		var sd float64
		require.NoError(t, inJournal(file, journal.Options{Read: true}, func(j *journal.Journal) error {
			rows, err := j.List(t.Context(), journal.Filter{})
			require.NoError(t, err)
			require.Len(t, rows, 1)
			sd = rows[0].StandardUncertaintyDeg
			return nil
		}))
		return sd
	}
	assert.Equal(t, older.StandardUncertaintyDeg, shows())
	var out strings.Builder
	require.NoError(t, journalRecompute(context.Background(), terminal.Streams{Out: &out, Err: &strings.Builder{}}, file, journal.Filter{}, false, false))
	said := strings.Join(strings.Fields(out.String()), " ")
	assert.Contains(t, said, "how its landmarks were found was not asked when it was kept: made again, they count as seen, not felt for")
	assert.Contains(t, said, "nothing was written; --write does")
	assert.Equal(t, older.StandardUncertaintyDeg, shows())

	require.NoError(t, journalRecompute(context.Background(), terminal.Streams{Out: &out, Err: &strings.Builder{}}, file, journal.Filter{}, true, false))
	assert.Greater(t, shows(), older.StandardUncertaintyDeg+1)
	require.NoError(t, inJournal(file, journal.Options{Read: true}, func(j *journal.Journal) error {
		got, err := j.Show(t.Context(), kept)
		require.NoError(t, err)
		require.Len(t, got.Former, 1, "what it said before stays")
		return nil
	}))
}

// How the landmarks were found is kept with the reading, from the option and from the marks.
func TestHowFoundIsKept(t *testing.T) {
	e := desktest.SplitEntry(t, "Wren", "2026-03-03")
	q, err := desk.Again(e)
	require.NoError(t, err)
	q.Found = reading.Felt
	request := journal.NewRequest(&q, nil, nil)
	assert.Equal(t, "felt", request.Found)
	e.Request = request
	q, err = desk.Again(e)
	require.NoError(t, err)
	assert.Equal(t, reading.Felt, q.Found)
	e.Marks = []byte(strings.Replace(string(e.Marks), `"frame": 12`, `"frame": 12, "found": "sticker"`, 1))
	q, err = desk.Again(e)
	require.NoError(t, err)
	assert.Equal(t, reading.Stickered, q.Marks.Found)
}
