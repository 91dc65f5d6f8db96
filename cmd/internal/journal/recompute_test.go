package journal

import (
	"encoding/json"
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
)

func TestRecomputeFindsWhatChanged(t *testing.T) {
	j := openNew(t)
	right := sample(t, 0)
	q := splitRequest(t, string(right.Marks))
	r, err := reading.Read(q)
	require.NoError(t, err)
	right.Reading, err = json.Marshal(r)
	require.NoError(t, err)
	right = keep(t, j, right)

	// the same frame as an older version might have read it: another budget, a degree more
	older := sample(t, 15)
	q = splitRequest(t, string(older.Marks))
	r, err = reading.Read(q)
	require.NoError(t, err)
	truth := *r
	r.AngleDeg++
	r.Budget = r.Budget[1:]
	older.Reading, err = json.Marshal(r)
	require.NoError(t, err)
	older = keep(t, j, older)

	found := map[int64]Remade{}
	for m, err := range j.Recompute(ctx, Filter{}, remake) {
		require.NoError(t, err)
		require.NoError(t, m.Err)
		found[m.Entry.ID] = m
	}
	require.Len(t, found, 2)
	assert.Empty(t, found[right.ID].Changes)
	assert.Equal(t, []string{"angle_deg", "budget " + truth.Budget[0].Source}, names(found[older.ID].Changes))
	angle := found[older.ID].Changes[0]
	assert.Equal(t, truth.AngleDeg+1, angle.Before)
	assert.Equal(t, truth.AngleDeg, angle.After)
	assert.True(t, math.IsNaN(found[older.ID].Changes[1].Before))

	require.NoError(t, j.Replace(ctx, older.ID, found[older.ID].After, "1.2.0"))
	got, err := j.Show(ctx, older.ID)
	require.NoError(t, err)
	assert.Equal(t, "1.2.0", got.Tool)
	assert.Equal(t, []Former{{Tool: "0.9.0", ReplacedAt: "2026-06-01T18:30:00Z", Reading: older.Reading}}, got.Former)
	rows, err := j.List(ctx, Filter{IDs: []int64{older.ID}})
	require.NoError(t, err)
	assert.Equal(t, truth.AngleDeg, rows[0].AngleDeg, "the list says what the new reading says")
	for m, err := range j.Recompute(ctx, Filter{}, remake) {
		require.NoError(t, err)
		assert.Empty(t, m.Changes)
	}

	require.ErrorContains(t, j.Replace(ctx, right.ID, &reading.Reading{}, "1.2.0"), "schema")
	other := truth
	other.Take.Frame++
	require.ErrorContains(t, j.Replace(ctx, right.ID, &other, "1.2.0"), "is not reading 1")
	require.ErrorIs(t, j.Replace(ctx, 99, &truth, "1.2.0"), ErrAbsent)
}

func TestRecomputeGoesOnAfterAFailure(t *testing.T) {
	j := openNew(t)
	keep(t, j, sample(t, 0))
	keep(t, j, sample(t, 1))
	cannot := errors.New("cannot")
	n := 0
	for m, err := range j.Recompute(ctx, Filter{}, func(*Entry) (*reading.Reading, error) { return nil, cannot }) {
		require.NoError(t, err)
		assert.Equal(t, cannot, m.Err)
		assert.NotNil(t, m.Before)
		n++
	}
	assert.Equal(t, 2, n)
}

func names(f []Figure) (out []string) {
	for _, v := range f {
		out = append(out, v.Name)
	}
	return out
}
