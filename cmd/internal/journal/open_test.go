package journal

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestNoJournalThere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "none.journal")
	for _, opt := range []Options{{}, {Read: true}} {
		_, err := Open(path, opt)
		require.ErrorIs(t, err, ErrAbsent)
		assert.Contains(t, err.Error(), path)
		assert.Contains(t, hint(t, err), "keep a reading first")
		assert.NoFileExists(t, path)
	}
	deep := filepath.Join(t.TempDir(), "data", "ecart", "journal")
	j, err := Open(deep, Options{Create: true})
	require.NoError(t, err, "folders are made")
	require.NoError(t, j.Close())
}

// Files that are no journals stay as they are, to the last byte, and nothing is
// put beside them.
func TestForeignFiles(t *testing.T) {
	dir := t.TempDir()
	foreign := filepath.Join(dir, "music.db")
	db, err := sql.Open("sqlite", address(foreign))
	require.NoError(t, err)
	_, err = db.Exec("CREATE TABLE song (title TEXT); INSERT INTO song VALUES ('one')")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	for name, content := range map[string][]byte{
		"picture.jpg": []byte("\xff\xd8\xff\xe0 a picture and not a journal at all"),
		"short":       []byte("SQLite"),
		"list.csv":    []byte(strings.Repeat("athlete,take\r\n", 100)),
		"music.db":    nil,
	} {
		path := filepath.Join(dir, name)
		if content != nil {
			require.NoError(t, os.WriteFile(path, content, 0o600))
		}
		before, err := os.ReadFile(path)
		require.NoError(t, err)
		for _, opt := range []Options{{Create: true}, {}, {Read: true}} {
			_, err = Open(path, opt)
			require.Error(t, err, name)
			assert.Contains(t, err.Error(), "no journal")
			assert.Contains(t, err.Error(), name)
			assert.Contains(t, hint(t, err), "journal FILE")
		}
		after, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, before, after, name)
		assert.NoFileExists(t, path+"-wal")
	}
	_, err = Open(dir, Options{Create: true})
	require.ErrorContains(t, err, "is no file")
}

func TestNewerJournal(t *testing.T) {
	j := openNew(t)
	keep(t, j, sample(t, 0))
	_, err := j.db.Exec("PRAGMA user_version = 7")
	require.NoError(t, err)
	require.NoError(t, j.Close())
	before, err := os.ReadFile(j.Path())
	require.NoError(t, err)
	for _, opt := range []Options{{Create: true}, {Read: true}} {
		_, err = Open(j.Path(), opt)
		require.ErrorContains(t, err, "form 7")
		assert.Contains(t, hint(t, err), "newer ecart")
	}
	after, err := os.ReadFile(j.Path())
	require.NoError(t, err)
	assert.Equal(t, before, after)
	assert.NoFileExists(t, j.Path()+"-shm", "nothing is put beside it")
}

// A file whose middle was overwritten is called damaged, and is not written to.
func TestDamagedJournal(t *testing.T) {
	j := openNew(t)
	for n := range 60 {
		keep(t, j, sample(t, n))
	}
	require.NoError(t, j.Close())
	info, err := os.Stat(j.Path())
	require.NoError(t, err)
	f, err := os.OpenFile(j.Path(), os.O_RDWR, 0)
	require.NoError(t, err)
	_, err = f.WriteAt([]byte(strings.Repeat("\xa5", int(info.Size())-8192)), 4096)
	require.NoError(t, err)
	require.NoError(t, f.Close())
	j, err = Open(j.Path(), Options{Now: spring})
	if err == nil {
		_, err = j.List(ctx, Filter{})
		require.NoError(t, j.Close())
	}
	require.ErrorContains(t, err, "damaged")
	assert.Contains(t, hint(t, err), "copy")
}

// SQLite itself says that there is no room; what was kept before stays, and once
// there is room the same reading is kept.
func TestFullDrive(t *testing.T) {
	j := openNew(t)
	j.db.SetMaxOpenConns(1) // the limit is a connection's
	keep(t, j, sample(t, 0))
	_, err := j.db.Exec("PRAGMA max_page_count = 30")
	require.NoError(t, err)
	kept, failed := 1, 0
	for n := 1; n < 200; n++ {
		e := sample(t, n)
		if _, err = j.Keep(ctx, &e); err != nil {
			failed = n
			break
		}
		kept++
	}
	require.ErrorContains(t, err, "is full: the reading was not kept")
	assert.Contains(t, hint(t, err), "make room")
	rows, err := j.List(ctx, Filter{})
	require.NoError(t, err)
	assert.Len(t, rows, kept)
	_, err = j.db.Exec("PRAGMA max_page_count = 100000")
	require.NoError(t, err)
	keep(t, j, sample(t, failed))
	sound(t, j.Path())
}

// sound runs SQLite's integrity check, and looks for readings without their parts.
func sound(t testing.TB, path string) {
	db, err := sql.Open("sqlite", address(path, pragma("busy_timeout", 10_000)))
	require.NoError(t, err)
	defer db.Close()
	var said string
	require.NoError(t, db.QueryRow("PRAGMA integrity_check").Scan(&said))
	assert.Equal(t, "ok", said)
	for _, q := range []string{
		"SELECT count(*) FROM pragma_foreign_key_check",
		"SELECT count(*) FROM reading WHERE id NOT IN (SELECT reading_id FROM whole)",
	} {
		n := -1
		require.NoError(t, db.QueryRow(q).Scan(&n))
		assert.Zero(t, n, q)
	}
}

func TestSettings(t *testing.T) {
	j := openNew(t)
	for name, want := range map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "secure_delete": "1", "busy_timeout": "10000"} {
		var got string
		require.NoError(t, j.db.QueryRow(fmt.Sprintf("PRAGMA %s", name)).Scan(&got))
		assert.Equal(t, want, got, name)
	}
}
