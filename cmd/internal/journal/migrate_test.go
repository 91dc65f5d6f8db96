package journal

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A migration that was once released is never changed: journals out there were
// made by it. Whoever adds one adds its sum here.
func TestMigrationsAreOnlyAddedTo(t *testing.T) {
	released := []string{
		"4bc7011b3c848a26bc0f9a75832a0fea4cb82cae9f91924d7d3dc6f6b62df45a",
		"27e7ae3cc79f4fb75020198a46d30486bea437f47ced08e8ee3a9ad62ccfbc1d",
		"b4f7a37392f2fcd8072e6c9984e6a1191b446e00cc0f9de30cf63bee8e98638f",
		"ca9edf88726dba7a046d8a60a2c36b07ab902195f0eee88000f3f689db1adcdb",
	}
	all := migrations()
	require.Len(t, all, len(released))
	for i, text := range all {
		sum := sha256.Sum256([]byte(text))
		assert.Equal(t, released[i], hex.EncodeToString(sum[:]), "migrations/%d.sql", i+1)
	}
}

// next is a form that does not exist yet, as one to come might look.
const next = "ALTER TABLE reading ADD COLUMN surface TEXT NOT NULL DEFAULT ''; CREATE INDEX reading_surface ON reading (surface);"

// backUpOf is the copy made of a journal of today's form by the tests' clock.
func backUpOf(j *Journal) string {
	return fmt.Sprintf("%s.2026-06-01T183000.form%d.backup", j.Path(), len(migrations()))
}

// A journal of the first form, which knew no notes, keeps its readings and takes notes.
func TestFirstFormGetsNotes(t *testing.T) {
	j := openNew(t)
	old := sample(t, 0)
	old.Note = ""
	old = keep(t, j, old)
	_, err := j.db.Exec("DROP TABLE checksum; ALTER TABLE reading DROP COLUMN note; PRAGMA user_version = 1")
	require.NoError(t, err)
	require.NoError(t, j.Close())

	j = openAt(t, j.Path())
	got, err := j.Show(ctx, old.ID)
	require.NoError(t, err)
	assert.Equal(t, &old, got)
	e := sample(t, 1)
	e.Note = " first line\r\nsecond, \"quoted\" "
	e = keep(t, j, e)
	got, err = j.Show(ctx, e.ID)
	require.NoError(t, err)
	assert.Equal(t, "first line\nsecond, \"quoted\"", got.Note)
	sound(t, j.Path())
}

func TestMigrateWithBackUp(t *testing.T) {
	j := openNew(t)
	e := keep(t, j, sample(t, 0))
	require.NoError(t, j.Close())

	j, err := open(j.Path(), Options{Now: spring}, append(migrations(), next))
	require.NoError(t, err)
	defer j.Close()
	got, err := j.Show(ctx, e.ID)
	require.NoError(t, err)
	assert.Equal(t, &e, got)
	var surface string
	require.NoError(t, j.db.QueryRow("SELECT surface FROM reading").Scan(&surface))

	copies, err := j.BackUps()
	require.NoError(t, err)
	require.Len(t, copies, 1)
	assert.Equal(t, backUpOf(j), copies[0], "dated by the clock that was given")
	back := openAt(t, copies[0])
	got, err = back.Show(ctx, e.ID)
	require.NoError(t, err)
	assert.Equal(t, &e, got, "the copy is a journal of the older form")
	info, err := os.Stat(copies[0])
	require.NoError(t, err)
	assert.Equal(t, privateFile, info.Mode().Perm())

	// the older program, meanwhile, refuses the file
	_, err = Open(j.Path(), Options{Now: spring})
	require.ErrorContains(t, err, fmt.Sprintf("form %d,", len(migrations())+1))
}

// A step that fails leaves the form before it, whole.
func TestMigrationThatFails(t *testing.T) {
	j := openNew(t)
	e := keep(t, j, sample(t, 0))
	require.NoError(t, j.Close())
	_, err := open(j.Path(), Options{Now: spring}, append(migrations(), next, "ALTER TABLE reading ADD COLUMN half TEXT; this is no SQL"))
	require.Error(t, err)
	j, err = open(j.Path(), Options{Now: spring}, append(migrations(), next))
	require.NoError(t, err, "one form was reached, the next was not")
	defer j.Close()
	var columns int
	require.NoError(t, j.db.QueryRow("SELECT count(*) FROM pragma_table_info('reading') WHERE name IN ('surface', 'half')").Scan(&columns))
	assert.Equal(t, 1, columns, "what the failing step did is undone")
	got, err := j.Show(ctx, e.ID)
	require.NoError(t, err)
	assert.Equal(t, &e, got)
	sound(t, j.Path())
}

// Without the copy nothing is changed.
func TestNoMigrationWithoutBackUp(t *testing.T) {
	j := openNew(t)
	keep(t, j, sample(t, 0))
	require.NoError(t, j.Close())
	taken := backUpOf(j)
	require.NoError(t, os.WriteFile(taken, []byte("somebody's"), 0o600))
	_, err := open(j.Path(), Options{Now: spring}, append(migrations(), next))
	require.ErrorContains(t, err, "copy has to be made")
	assert.NotEmpty(t, hint(t, err))
	content, err := os.ReadFile(taken)
	require.NoError(t, err)
	assert.Equal(t, "somebody's", string(content), "no file is overwritten")
	j, err = Open(j.Path(), Options{Now: spring})
	require.NoError(t, err, "it is of the old form still")
	require.NoError(t, j.Close())
	left, err := filepath.Glob(filepath.Join(filepath.Dir(j.Path()), "*.part"))
	require.NoError(t, err)
	assert.Empty(t, left)
}

// Several programs that meet an older journal at the same time migrate it once.
func TestMigrateAtTheSameTime(t *testing.T) {
	j := openNew(t)
	e := keep(t, j, sample(t, 0))
	require.NoError(t, j.Close())
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			j, err := open(j.Path(), Options{Now: spring}, append(migrations(), next))
			if assert.NoError(t, err) {
				_, err = j.Show(ctx, e.ID)
				assert.NoError(t, err)
				assert.NoError(t, j.Close())
			}
		})
	}
	wg.Wait()
	copies, err := j.BackUps()
	require.NoError(t, err)
	assert.Len(t, copies, 1)
	assert.False(t, strings.HasSuffix(copies[0], ".part"))
	sound(t, j.Path())
}

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
