package journal

import (
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"ecart/cmd/internal/fault"
)

// magic is the beginning of every SQLite file.
const magic = "SQLite format 3\x00"

// inspect returns the version of the file's form, 0 for an empty file, without writing to it.
func inspect(path string, newest int) (version int, err error) {
	foreign := fault.New(fmt.Sprintf("%q is a file of another kind and no journal", path), "name a journal with "+fault.Option("journal")+" FILE; this one was left as it is")
	head := make([]byte, 16)
	f, err := os.Open(path)
	if err != nil {
		return 0, explain(err, path, "it was not opened")
	}
	n, err := io.ReadFull(f, head)
	if err := f.Close(); err != nil {
		return 0, err
	}
	if n == 0 {
		return 0, nil
	}
	if err != nil || string(head) != magic {
		return 0, foreign
	}
	db, err := openLooking(path)
	if err != nil {
		return 0, err
	}
	defer db.Close()
	var id, tables int
	err = db.QueryRow("SELECT (SELECT application_id FROM pragma_application_id), (SELECT user_version FROM pragma_user_version), (SELECT count(*) FROM sqlite_schema)").Scan(&id, &version, &tables)
	switch {
	case err != nil:
		return 0, explain(err, path, "it was not opened")
	case id == 0 && version == 0 && tables == 0:
		return 0, nil
	case id != application:
		return 0, foreign
	case version < 1:
		return 0, damagedHead(path)
	case version > newest:
		return 0, fault.New(fmt.Sprintf("the journal %q is of form %d, and this version of ecart knows forms up to %d", path, version, newest),
			"a newer ecart wrote it: open it with that one; nothing was changed")
	}
	return version, nil
}

// damagedHead returns the error for a journal with an impossible form in its header.
func damagedHead(path string) error {
	return fault.Failed(fmt.Sprintf("the journal %q is damaged: its header has an impossible form", path), "leave the file as it is and go back to a copy or an export of it: "+fault.Operation("import a journal"), nil)
}

// openReading opens a file for reading only. If its folder cannot be written and the
// write-ahead log is empty, the file is opened as immutable.
func openReading(path string) (*sql.DB, error) {
	db, err := tryReading(path)
	if err == nil {
		return db, nil
	}
	if !logged(path) {
		if db, err := tryReading(path, "immutable=1"); err == nil {
			return db, nil
		}
	}
	// On a full drive the shared index of the log cannot be created. With an exclusive lock
	// it is not needed.
	if alone, e := tryOpening(path, "mode=rw", pragma("locking_mode", "EXCLUSIVE")); e == nil {
		return alone, nil
	}
	return nil, explain(err, path, "it was not opened")
}

// openLooking opens a file to read only its header. If the write-ahead log is empty, this
// does not create SQLite's two files beside it.
func openLooking(path string) (*sql.DB, error) {
	if !logged(path) {
		if db, err := tryReading(path, "immutable=1"); err == nil {
			return db, nil
		}
	}
	return openReading(path)
}

func tryReading(path string, more ...string) (*sql.DB, error) {
	return tryOpening(path, append(more, "mode=ro")...)
}

func tryOpening(path string, more ...string) (*sql.DB, error) {
	db, err := sql.Open("sqlite", address(path, append(more, pragma("busy_timeout", int(patience/time.Millisecond)))...))
	if err != nil {
		return nil, err
	}
	var tables int
	if err := db.QueryRow("SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

// logged reports whether the write-ahead log may contain changes.
func logged(path string) bool {
	log, err := os.Stat(path + "-wal")
	return !errors.Is(err, fs.ErrNotExist) && (err != nil || log.Size() > 0)
}

func pragma(name string, value any) string { return fmt.Sprintf("_pragma=%s(%v)", name, value) }

// address returns the URI of the file with settings of SQLite and the driver.
func address(path string, settings ...string) string {
	s := (&url.URL{Scheme: "file", Path: filepath.ToSlash(path)}).String()
	for i, v := range settings {
		s += []string{"?", "&"}[min(i, 1)] + v
	}
	return s
}
