package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"

	lib "modernc.org/sqlite/lib"

	"ecart/cmd/internal/fault"
)

// application marks the file as a journal, in SQLite's application_id: "ecrt".
const application = 0x65637274

const (
	// patience is how long a writer waits for another program's: a squad of
	// fifteen is kept in well under a second.
	patience = 10 * time.Second
	// private: the athletes are mostly minors, so that nobody else on the machine
	// reads the file.
	privateFile, privateFolder fs.FileMode = 0o600, 0o700
)

// Options say how a journal is opened. The zero value opens one that is there,
// for reading and writing.
type Options struct {
	Create bool             // make it where there is none
	Read   bool             // only reading is meant: a file that cannot be written will do
	Now    func() time.Time // the clock; nil: the machine's
}

// Journal is an open journal. Its methods may be called at the same time.
type Journal struct {
	path    string
	db      *sql.DB
	now     func() time.Time
	reading bool       // the file cannot be written
	writing sync.Mutex // one writer of this program at a time; other programs wait in SQLite

	fitting sync.Mutex
	fits    bool // the parts of the file were found to fit together: see torn
}

// Open opens the journal at path, brings it to the newest form (a copy of the
// older one is put beside it first) and finishes what was left unfinished. It
// refuses what is no journal and what a newer version wrote, and leaves both as
// they are.
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
	version, err := look(path, len(forms))
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
	for _, step := range []func() error{j.wal, func() error { return j.migrate(forms) }, j.finish} {
		if err := step(); err != nil {
			err = explain(err, path, "it was not opened")
			closed := j.db.Close()
			if opt.Read && noRoom(err) {
				j.reading = true
				if _, failed := j.openedReading(version, len(forms)); failed == nil {
					return j, nil
				}
			}
			return nil, errors.Join(err, closed)
		}
	}
	return j, nil
}

// openedReading is the journal opened only for reading. version is its form.
func (j *Journal) openedReading(version, newest int) (*Journal, error) {
	if version != newest {
		return nil, fault.New(fmt.Sprintf("the journal %q is of form %d, and bringing it to form %d needs to write to it", j.path, version, newest),
			"give yourself the right to write to the file and its folder, or copy it elsewhere and name the copy with --journal")
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

// noRoom says that the drive could not take what a journal that is written needs.
func noRoom(err error) bool {
	c := code(err)
	return c == lib.SQLITE_FULL || c == lib.SQLITE_IOERR || c == lib.SQLITE_CANTOPEN
}

// Path is where the journal lies, from the root.
func (j *Journal) Path() string { return j.path }

// Close closes the journal.
func (j *Journal) Close() error { return j.db.Close() }

// prepare makes the file if it has to, and says whether it can be written.
func prepare(path string, opt Options) (writable bool, err error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist) && !opt.Create:
		return false, absent(fmt.Sprintf("there is no journal %q", path), "keep a reading first ('ecart read ... --keep ATHLETE'), or name another with --journal FILE")
	case errors.Is(err, fs.ErrNotExist):
		if err := os.MkdirAll(filepath.Dir(path), privateFolder); err != nil {
			return false, fault.Failed(fmt.Sprintf("the folder %q for the journal cannot be made", filepath.Dir(path)), "name a place that can be written with --journal FILE", err)
		}
	case err != nil:
		return false, fault.Failed(fmt.Sprintf("the journal %q cannot be reached: %v", path, err), "name another with --journal FILE", err)
	case !info.Mode().IsRegular():
		return false, fault.New(fmt.Sprintf("%q is no file and so no journal", path), "name a file with --journal FILE")
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

// wal turns the write-ahead log on. Two programs that do so on a new file at the
// same time get in each other's way at once, without waiting.
func (j *Journal) wal() error {
	var mode string
	for end := time.Now().Add(patience); ; time.Sleep(20 * time.Millisecond) {
		err := j.db.QueryRow("PRAGMA journal_mode(WAL)").Scan(&mode)
		if err == nil && mode == "wal" {
			return nil
		}
		if err == nil {
			return fault.New(fmt.Sprintf("the journal %q lies where two programs cannot share it", j.path), "a network drive cannot keep it: name a place on this machine with --journal FILE")
		}
		if code(err) != lib.SQLITE_BUSY || time.Now().After(end) {
			return err
		}
	}
}

// write runs f in a transaction that holds the file for writing from its start.
// doing says what was not done where it fails.
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

// today is the last day that a take can have been made on: that of whichever of
// local time and UTC is ahead, since takes carry either.
func (j *Journal) today() string { return lastDay(j.now()) }

func lastDay(now time.Time) string {
	return max(now.Format(time.DateOnly), now.UTC().Format(time.DateOnly))
}

// stamp is now, for what is recorded with a reading.
func (j *Journal) stamp() string { return j.now().UTC().Format(time.RFC3339) }
