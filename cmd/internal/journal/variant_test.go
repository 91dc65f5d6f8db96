package journal

import (
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// thirdForm is a journal of form 3 with the athletes and readings of another.
func thirdForm(t *testing.T, from *Journal) *Journal {
	j, err := open(filepath.Join(t.TempDir(), "old.journal"), Options{Create: true, Now: spring}, migrations()[:3])
	require.NoError(t, err)
	_, sums, ok := strings.Cut(migrations()[2], ") STRICT;")
	require.True(t, ok)
	for _, text := range []string{
		"ATTACH '" + from.Path() + "' AS new",
		"INSERT INTO athlete SELECT * FROM new.athlete",
		"INSERT INTO session SELECT * FROM new.session",
		`INSERT INTO reading SELECT id, uid, session_id, kept_at, state, condition, side, rater, setup, lens, tool, take_name, take_sha256, frame, time_s, width_px, height_px,
			measure, lines, rulebook, skill, asked_deg, at_most, angle_deg, standard_uncertainty_deg, expanded_uncertainty_deg, coverage, low_deg, high_deg,
			decision, meets_probability, budget, note FROM new.reading`,
		"INSERT INTO whole SELECT * FROM new.whole",
		"INSERT INTO former SELECT * FROM new.former",
		sums,
		"DETACH new",
	} {
		_, err := j.db.Exec(text)
		require.NoError(t, err, text)
	}
	return j
}

// A journal of the third form keeps its readings and takes positions and swung takes. What was
// damaged in it stays damaged, and the number of an erased reading is not given again.
func TestThirdFormGetsVariants(t *testing.T) {
	source := openNew(t)
	source.db.SetMaxOpenConns(1)
	whole, damaged, erased := keep(t, source, sample(t, 0)), keep(t, source, sample(t, 1)), keep(t, source, sample(t, 2))
	_, err := source.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	require.NoError(t, err)
	j := thirdForm(t, source)
	_, err = j.db.Exec("UPDATE reading SET angle_deg = angle_deg + 10 WHERE id = ?", damaged.ID)
	require.NoError(t, err)
	_, err = j.db.Exec("DELETE FROM reading WHERE id = ?", erased.ID)
	require.NoError(t, err)
	require.NoError(t, j.Close())

	j = openAt(t, j.Path())
	got, err := j.Show(ctx, whole.ID)
	require.NoError(t, err)
	assert.Equal(t, &whole, got)
	rows, err := j.List(ctx, Filter{})
	assert.Len(t, rows, 1)
	var d DamagedReadings
	require.True(t, errors.As(err, &d), "%v", err)
	require.Len(t, d, 1)
	assert.Equal(t, damaged.ID, d[0].ID)

	e := sample(t, 3)
	e.Condition, e.Variant = "swung", "front"
	e = keep(t, j, e)
	assert.Greater(t, e.ID, erased.ID)
	got, err = j.Show(ctx, e.ID)
	require.NoError(t, err)
	assert.Equal(t, "swung", got.Condition)
	assert.Equal(t, "front", got.Variant)
	rows, err = j.List(ctx, Filter{Variant: "front"})
	require.True(t, err == nil || errors.As(err, &d), "%v", err)
	require.Len(t, rows, 1)
	assert.Equal(t, e.ID, rows[0].ID)
	var left int
	require.NoError(t, j.db.QueryRow("SELECT count(*) FROM pragma_foreign_key_check").Scan(&left))
	assert.Zero(t, left)
	// a changed position is noticed as any other change is
	_, err = j.db.Exec("UPDATE reading SET variant = 'back' WHERE id = ?", e.ID)
	require.NoError(t, err)
	_, err = j.Show(ctx, e.ID)
	require.ErrorAs(t, err, new(*Damaged))
}

// A variant is a short word, and the same reading in another position is a difference.
func TestVariantIsKept(t *testing.T) {
	j := openNew(t)
	e := sample(t, 0)
	e.Variant = "Knee Bent"
	_, err := j.Keep(ctx, &e)
	require.ErrorContains(t, err, `the variant "Knee Bent" cannot be kept`)
	e.Variant = "knee-bent"
	e = keep(t, j, e)
	again := e
	again.Variant = ""
	_, err = j.Keep(ctx, &again)
	require.ErrorContains(t, err, `variant ("knee-bent" there, "" here)`)
}
