package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	lib "modernc.org/sqlite/lib"

	"ecart/cmd/internal/fault"
)

// application is SQLite's application_id of a journal: "ecrt".
const application = 0x65637274

const (
	// patience is the longest wait for another program that writes. Keeping a squad of
	// fifteen takes well under a second.
	patience = 10 * time.Second
	// Only the user may read the file, since the athletes are mostly minors.
	privateFile, privateFolder fs.FileMode = 0o600, 0o700
)

// Options say how a journal is opened. The zero value opens an existing one for reading
// and writing.
type Options struct {
	Create bool             // create it if it does not exist
	Read   bool             // only reading is needed: the file need not be writable
	Now    func() time.Time // the clock; nil for that of the machine
}

// Journal is an open journal. It may be used from several goroutines.
type Journal struct {
	path    string
	db      *sql.DB
	now     func() time.Time
	reading bool       // opened for reading only
	writing sync.Mutex // one writer of this program at a time; other programs wait in SQLite

	checking sync.Mutex
	intact   bool // the structure of the file was checked and is intact: see incomplete
}

// Open opens the journal at path, brings it to the newest form (after a back-up beside it)
// and completes work left undone. A file that is not a journal, or was written by a newer
// version, is an error and is not changed.
func Open(path string, opt Options) (*Journal, error) {
	return open(path, opt, migrations())
}

func open(path string, opt Options, forms []string) (*Journal, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("journal: %w", err)
	}
	if opt.Now == nil {
		opt.Now = time.Now
	}
	writable, err := prepare(path, opt)
	if err != nil {
		return nil, err
	}
	version, err := inspect(path, len(forms))
	if err != nil {
		return nil, err
	}
	if path, err = filepath.EvalSymlinks(path); err != nil {
		return nil, explain(err, path, "it was not opened")
	}
	j := &Journal{path: path, now: opt.Now, reading: !writable}
	if j.reading {
		return j.openedReading(version, len(forms))
	}
	if j.db, err = sql.Open("sqlite", address(path, "_txlock=immediate", pragma("busy_timeout", int(patience/time.Millisecond)),
		pragma("synchronous", "FULL"), pragma("foreign_keys", 1), pragma("secure_delete", 1), pragma("temp_store", "MEMORY"))); err != nil {
		return nil, err
	}
	j.removeParts()
	for _, step := range []func() error{j.enableWAL, func() error { return j.migrate(forms) }, j.finishChores} {
		if err := step(); err != nil {
			err = explain(err, path, "it was not opened")
			closeErr := j.db.Close()
			if opt.Read && noRoom(err) {
				j.reading = true
				if _, readErr := j.openedReading(version, len(forms)); readErr == nil {
					return j, nil
				}
			}
			return nil, errors.Join(err, closeErr)
		}
	}
	return j, nil
}

// openedReading opens the journal for reading only. version is its form.
func (j *Journal) openedReading(version, newest int) (*Journal, error) {
	if version != newest {
		return nil, fault.New(fmt.Sprintf("the journal %q is of form %d, and bringing it to form %d needs to write to it", j.path, version, newest),
			"give yourself the right to write to the file and its folder, or copy it elsewhere and name the copy with "+fault.Option("journal"))
	}
	var err error
	if j.db, err = openReading(j.path); err != nil {
		return nil, err
	}
	_, moves, err := j.chores()
	for _, m := range moves {
		if _, copying := os.Lstat(partOf(m.to)); m.state == "moved" && m.from == j.path && copying != nil {
			err = movedTo(j.path, m.to, "it was not opened")
		}
	}
	if err != nil {
		return nil, errors.Join(explain(err, j.path, "it was not opened"), j.db.Close())
	}
	return j, nil
}

// noRoom reports whether the drive may have no room for what writing a journal needs.
func noRoom(err error) bool {
	c := code(err)
	return c == lib.SQLITE_FULL || c == lib.SQLITE_IOERR || c == lib.SQLITE_CANTOPEN
}

// Path returns the absolute path of the journal.
func (j *Journal) Path() string { return j.path }

// Close closes the journal.
func (j *Journal) Close() error { return j.db.Close() }

// prepare creates the file if needed, and reports whether it is writable.
func prepare(path string, opt Options) (writable bool, err error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist) && !opt.Create:
		return false, absent(fmt.Sprintf("there is no journal %q", path), "keep a reading first ("+fault.Operation("keep a reading")+"), or name another with "+fault.Option("journal")+" FILE")
	case errors.Is(err, fs.ErrNotExist):
		if err := os.MkdirAll(filepath.Dir(path), privateFolder); err != nil {
			return false, fault.Failed(fmt.Sprintf("the folder %q for the journal cannot be made", filepath.Dir(path)), "name a place that can be written with "+fault.Option("journal")+" FILE", err)
		}
	case err != nil:
		return false, fault.Failed(fmt.Sprintf("the journal %q cannot be reached: %v", path, err), "name another with "+fault.Option("journal")+" FILE", err)
	case !info.Mode().IsRegular():
		return false, fault.New(fmt.Sprintf("%q is no file and so no journal", path), "name a file with "+fault.Option("journal")+" FILE")
	}
	flags := os.O_RDWR
	if opt.Create {
		flags |= os.O_CREATE
	}
	f, err := os.OpenFile(path, flags, privateFile)
	if err == nil {
		return true, f.Close()
	}
	if opt.Read {
		if f, err := os.Open(path); err == nil {
			return false, f.Close()
		}
	}
	return false, explain(&fs.PathError{Op: "open", Path: path, Err: err}, path, "it was not opened")
}

// enableWAL turns the write-ahead log on. If two programs do so on a new file at the same time, SQLite
// fails without waiting, so it is tried repeatedly.
func (j *Journal) enableWAL() error {
	var mode string
	for end := time.Now().Add(patience); ; time.Sleep(20 * time.Millisecond) {
		err := j.db.QueryRow("PRAGMA journal_mode(WAL)").Scan(&mode)
		if err == nil && mode == "wal" {
			return nil
		}
		if err == nil {
			return fault.New(fmt.Sprintf("the journal %q lies where two programs cannot share it", j.path), "a network drive cannot keep it: name a place on this machine with "+fault.Option("journal")+" FILE")
		}
		if code(err) != lib.SQLITE_BUSY || time.Now().After(end) {
			return err
		}
	}
}

// write runs f in a transaction that locks the file for writing from its start. doing says
// in errors what was not done.
func (j *Journal) write(ctx context.Context, doing string, f func(*sql.Tx) error) error {
	if j.reading {
		return explain(fs.ErrPermission, j.path, doing)
	}
	j.writing.Lock()
	defer j.writing.Unlock()
	tx, err := j.db.BeginTx(ctx, nil)
	if err != nil {
		return explain(err, j.path, doing)
	}
	defer tx.Rollback() // after Commit it does nothing
	if err := f(tx); err != nil {
		return explain(err, j.path, doing)
	}
	return explain(tx.Commit(), j.path, doing)
}

// today returns the last possible day of a take: the later one of local time and UTC, since
// takes have either.
func (j *Journal) today() string { return lastDay(j.now()) }

func lastDay(now time.Time) string {
	return max(now.Format(time.DateOnly), now.UTC().Format(time.DateOnly))
}

// stamp returns the current time in UTC, RFC 3339.
func (j *Journal) stamp() string { return j.now().UTC().Format(time.RFC3339) }

// finishChores completes work that a run left undone because it was killed or had no room. Work
// that still cannot be done is left for the next time, so that the readings stay
// accessible. It is an error only if the journal is at another place now.
func (j *Journal) finishChores() error {
	sweep, moves, err := j.chores()
	if err != nil {
		return err
	}
	if err := j.resume(moves); err != nil {
		return err
	}
	if sweep {
		_ = j.sweep(context.Background()) // the user who erased got an error then
	}
	return nil
}

// chores returns the work that is left to do.
func (j *Journal) chores() (sweep bool, moves []move, err error) {
	rows, err := j.db.Query("SELECT name FROM chore ORDER BY name")
	if err != nil {
		return false, nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return false, nil, err
		}
		if m, ok := parseMove(name); ok {
			moves = append(moves, m)
		}
		sweep = sweep || name == "sweep"
	}
	return sweep, moves, rows.Err()
}

// removeParts removes incomplete back-ups that killed runs left beside the journal.
func (j *Journal) removeParts() {
	entries, _ := os.ReadDir(filepath.Dir(j.path)) // a folder that cannot be listed is ignored
	for _, e := range entries {
		rest, ok := strings.CutPrefix(e.Name(), filepath.Base(j.path)+".")
		if ok && strings.HasSuffix(rest, ".backup.part") && e.Type().IsRegular() {
			removePart(filepath.Join(filepath.Dir(j.path), e.Name()))
		}
	}
}
