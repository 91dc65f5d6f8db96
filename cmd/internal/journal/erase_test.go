package journal

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// traces counts in how many files of the folder the text stands.
func traces(t *testing.T, dir, text string) (files []string) {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		if bytes.Contains(data, []byte(text)) {
			files = append(files, e.Name())
		}
	}
	return files
}

// secret is a reading of an athlete whose name, take and marks appear nowhere else.
func secret(t *testing.T, n int) Entry {
	e := sample(t, n)
	e.Athlete, e.Session, e.Setup = "Kingfisher", "open evening", "tripod by the kingfisher poster"
	e.Marks = bytes.Replace([]byte(splitMarks), []byte("960.25"), fmt.Appendf(nil, "961.%d7254321", n), 1)
	e.Reading = bytes.ReplaceAll(e.Reading, []byte("leap-wren.mp4"), []byte("leap-kingfisher.mp4"))
	return e
}

var secretTexts = []string{"Kingfisher", "kingfisher", "961.", "7254321", "open evening"}

func TestEraseLeavesNoTrace(t *testing.T) {
	j := openNew(t)
	dir := filepath.Dir(j.Path())
	for n := range 150 {
		keep(t, j, sample(t, n))
		if n%15 == 0 {
			keep(t, j, secret(t, n/15))
		}
	}
	require.NoError(t, j.Close())
	// a back-up of an older form has the athlete too
	j, err := open(j.Path(), Options{Now: spring}, append(migrations(), next))
	require.NoError(t, err)
	defer j.Close()
	keep(t, j, secret(t, 10)) // and the write-ahead log
	for _, text := range secretTexts {
		require.NotEmpty(t, traces(t, dir, text), "the test looks for %q, which was never there", text)
	}
	copies, err := j.BackUps()
	require.NoError(t, err)

	got, err := j.Erase(ctx, "KINGFISHER")
	require.NoError(t, err)
	assert.Equal(t, Erased{Readings: 11, BackUps: copies}, got)
	for _, text := range secretTexts {
		assert.Empty(t, traces(t, dir, text), "%q is still there", text)
	}
	rows, err := j.List(ctx, Filter{})
	require.NoError(t, err)
	assert.Len(t, rows, 150, "the others stay")
	sound(t, j.Path())
	require.NoError(t, j.Close())
	back := openAt(t, copies[0])
	rows, err = back.List(ctx, Filter{})
	require.NoError(t, err)
	assert.Len(t, rows, 150, "and in the copy")

	_, err = back.Erase(ctx, "Kingfisher")
	require.ErrorIs(t, err, ErrAbsent)
}

func TestEraseReadings(t *testing.T) {
	j := openNew(t)
	dir := filepath.Dir(j.Path())
	a, b := keep(t, j, secret(t, 3)), keep(t, j, secret(t, 4))
	_, err := j.EraseReadings(ctx, a.ID, 99)
	require.ErrorIs(t, err, ErrAbsent)
	_, err = j.Show(ctx, a.ID)
	require.NoError(t, err, "all of them or none")

	got, err := j.EraseReadings(ctx, a.ID)
	require.NoError(t, err)
	assert.Equal(t, Erased{Readings: 1}, got)
	assert.Empty(t, traces(t, dir, "961.37254321"))
	assert.NotEmpty(t, traces(t, dir, "961.47254321"))
	got, err = j.EraseReadings(ctx, b.ID)
	require.NoError(t, err)
	assert.Equal(t, 1, got.Readings)
	for _, text := range secretTexts {
		assert.Empty(t, traces(t, dir, text), "with the last reading the name goes too")
	}
}

// While another program reads, the athlete is gone but the file cannot be wiped:
// that is said, and done at the next opening.
func TestEraseWhileAnotherReads(t *testing.T) {
	j := openNew(t)
	dir := filepath.Dir(j.Path())
	keep(t, j, sample(t, 0))
	keep(t, j, secret(t, 1))
	other := openAt(t, j.Path())
	tx, err := other.db.Begin() // holds what it has seen
	require.NoError(t, err)
	_, err = j.db.Exec("PRAGMA busy_timeout = 50")
	require.NoError(t, err)
	j.db.SetMaxOpenConns(1)
	var n int
	require.NoError(t, tx.QueryRow("SELECT count(*) FROM reading").Scan(&n))
	require.NoError(t, tx.Rollback())
	conn, err := other.db.Conn(ctx)
	require.NoError(t, err)
	_, err = conn.ExecContext(ctx, "BEGIN")
	require.NoError(t, err)
	require.NoError(t, conn.QueryRowContext(ctx, "SELECT count(*) FROM reading").Scan(&n))

	_, err = j.Erase(ctx, "Kingfisher")
	require.ErrorContains(t, err, "another program holds the file open")
	assert.Contains(t, hint(t, err), "the next time")
	_, err = j.List(ctx, Filter{Athlete: "Kingfisher"})
	require.ErrorIs(t, err, ErrAbsent)

	_, err = conn.ExecContext(ctx, "COMMIT")
	require.NoError(t, err)
	require.NoError(t, conn.Close())
	require.NoError(t, other.Close())
	require.NoError(t, j.Close())
	second := openAt(t, j.Path())
	for _, text := range secretTexts {
		assert.Empty(t, traces(t, dir, text), text)
	}
	rows, err := second.List(ctx, Filter{})
	require.NoError(t, err)
	assert.Len(t, rows, 1)
}

func TestMove(t *testing.T) {
	j := openNew(t)
	dir := filepath.Dir(j.Path())
	for n := range 5 {
		keep(t, j, secret(t, n))
	}
	wren := keep(t, j, sample(t, 0))
	_, err := j.Move(ctx, Filter{}, "Wren", false)
	require.ErrorContains(t, err, "nothing was named")
	_, err = j.Move(ctx, Filter{Athlete: "Heron"}, "Wren", false)
	require.ErrorIs(t, err, ErrAbsent)
	_, err = j.Move(ctx, Filter{IDs: []int64{1, 77}}, "Wren", false)
	require.ErrorIs(t, err, ErrAbsent)

	n, err := j.Move(ctx, Filter{IDs: []int64{1, 2}}, "wren", false)
	require.NoError(t, err)
	assert.Equal(t, 2, n)
	n, err = j.Move(ctx, Filter{Athlete: "kingfisher"}, "Athlete 7", false)
	require.NoError(t, err)
	assert.Equal(t, 3, n)
	who, err := j.Athletes(ctx)
	require.NoError(t, err)
	require.Len(t, who, 2)
	assert.Equal(t, []string{"Athlete 7", "wren"}, []string{who[0].Name, who[1].Name})
	assert.Equal(t, 3, who[1].Readings)
	assert.Empty(t, traces(t, dir, "Kingfisher"), "a name exchanged for a pseudonym is gone")
	got, err := j.Show(ctx, wren.ID)
	require.NoError(t, err)
	wren.Athlete = "wren"
	assert.Equal(t, &wren, got)
}

func TestRelocate(t *testing.T) {
	j := openNew(t)
	e := keep(t, j, sample(t, 0))
	old := j.Path()
	late := openAt(t, old) // another program that has it open
	taken := filepath.Join(t.TempDir(), "taken")
	require.NoError(t, os.WriteFile(taken, []byte("x"), 0o600))
	require.ErrorContains(t, j.Relocate(ctx, taken), "there is a file")
	require.Error(t, j.Relocate(ctx, filepath.Join(taken, "no-folder", "j")))
	require.ErrorContains(t, j.Relocate(ctx, old), "already")
	keep(t, j, sample(t, 1)) // nothing was lost on the way

	to := filepath.Join(t.TempDir(), "it's (new).journal")
	require.NoError(t, j.Relocate(ctx, to))
	left, err := os.ReadDir(filepath.Dir(old))
	require.NoError(t, err)
	assert.Empty(t, left)
	moved := openAt(t, to)
	got, err := moved.Show(ctx, e.ID)
	require.NoError(t, err)
	assert.Equal(t, &e, got)
	keep(t, moved, sample(t, 2))
	sound(t, to)

	lost := sample(t, 3)
	_, err = late.Keep(ctx, &lost)
	require.ErrorContains(t, err, "was moved to")
	assert.Contains(t, err.Error(), "it's (new).journal")
	assert.Contains(t, hint(t, err), "new place")
}
