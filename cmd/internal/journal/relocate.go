package journal

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
)

// A move goes through these states, so that at each moment exactly one file accepts
// writes, and the next opening can continue after a run was killed:
//
//	moving: a copy is being made at the new place, under the name partOf
//	moved:  the old file refuses writes; the copy gets its final name, and the old
//	        file is removed
//
// The old file stores the state as a chore. The copy contains the state moving, from which
// the new file knows where it came from.

// move is a chore: the move of the journal's file from one path to another.
type move struct{ state, from, to string }

func (m move) String() string { return mustJSON([]string{m.state, m.from, m.to}) }

func parseMove(chore string) (m move, ok bool) {
	var parts []string
	if json.Unmarshal([]byte(chore), &parts) != nil || len(parts) != 3 {
		return m, false
	}
	return move{parts[0], parts[1], parts[2]}, true
}

// partOf returns the name of a copy until it is complete.
func partOf(path string) string { return path + ".part" }

// Relocate moves the journal's file to another path, which must not exist yet, and closes
// the journal. The copy is on the disk before the old file is removed. If another program
// has the old file open and writes to it later, it gets an error with the new path, and
// nothing is lost. The back-ups stay where they are.
func (j *Journal) Relocate(ctx context.Context, to string) error {
	const doing = "the journal was not moved"
	folder := filepath.Dir(to) // as the user wrote it
	to, err := filepath.Abs(to)
	if err != nil {
		return err
	}
	if dir, err := filepath.EvalSymlinks(filepath.Dir(to)); err == nil {
		to = filepath.Join(dir, filepath.Base(to))
	}
	if to == j.path {
		return fault.New(fmt.Sprintf("the journal lies at %q already", to), "name another place")
	}
	if _, err := os.Stat(filepath.Dir(to)); errors.Is(err, fs.ErrNotExist) {
		return fault.Failed(fmt.Sprintf("there is no folder %q: %s", folder, doing), "make the folder, or name another place", err)
	}
	if err := errors.Join(checkFree(to, doing), checkFree(partOf(to), doing)); err != nil {
		return err
	}
	moving := move{"moving", j.path, to}
	done := move{"moved", j.path, to}
	if err := j.write(ctx, doing, func(tx *sql.Tx) error { return addChore(ctx, tx, moving) }); err != nil {
		return err
	}
	var copied *os.File // locked until it has its final name
	err = j.write(ctx, doing, func(tx *sql.Tx) (err error) {
		// tx blocks all writes while another connection makes the copy
		if copied, err = j.copyTo(ctx, partOf(to), doing); err != nil {
			return err
		}
		for _, text := range closingTriggers(to) {
			if _, err := tx.ExecContext(ctx, text); err != nil {
				return err
			}
		}
		return addChore(ctx, tx, done)
	})
	if err == nil {
		if err = checkFree(to, doing); err == nil {
			if err = os.Rename(partOf(to), to); err != nil {
				err = explain(err, to, doing)
			}
		}
	}
	if copied != nil {
		defer copied.Close()
	}
	if err != nil {
		if copied != nil {
			os.Remove(partOf(to))
		}
		return errors.Join(err, j.undoMove(true, moving, done))
	}
	err = errors.Join(syncFolder(filepath.Dir(to)), j.db.Close())
	if e := removeOld(done); e != nil {
		err = errors.Join(err, fault.Failed(fmt.Sprintf("the journal is at %q now, but the old file %q could not be removed", to, j.path), "remove it by hand", e))
	}
	j.path = to
	return err
}

// checkFree returns an error if a file exists at path.
func checkFree(path, doing string) error {
	if _, err := os.Lstat(path); err == nil {
		return fault.New(fmt.Sprintf("there is a file %q already: %s", path, doing), "name another, or put that file away")
	}
	return nil
}

func addChore(ctx context.Context, tx *sql.Tx, m move) error {
	_, err := tx.ExecContext(ctx, "INSERT OR IGNORE INTO chore (name) VALUES (?)", m.String())
	return err
}

// undoMove undoes moves that were begun: the old file accepts writes again, and the copy is
// removed. own says that this run began them. If not, another run may have completed one
// meanwhile, which is an error.
func (j *Journal) undoMove(own bool, moves ...move) error {
	ctx := context.Background()
	return j.write(ctx, "a move that was begun was not undone", func(tx *sql.Tx) error {
		for _, m := range moves {
			var gone int
			if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM chore WHERE name = ?", move{"moved", m.from, m.to}.String()).Scan(&gone); err != nil {
				return err
			}
			if !own && gone > 0 && m.state == "moving" && m.from == j.path {
				return movedTo(j.path, m.to, "it was not opened")
			}
		}
		for _, trigger := range triggers() {
			if _, err := tx.ExecContext(ctx, "DROP TRIGGER IF EXISTS "+trigger.name); err != nil {
				return err
			}
		}
		for _, m := range moves {
			if !own {
				removePart(partOf(m.to))
			}
			if _, err := tx.ExecContext(ctx, "DELETE FROM chore WHERE name = ?", m.String()); err != nil {
				return err
			}
		}
		return nil
	})
}

// removePart removes an incomplete copy of a killed run, with SQLite's file beside it. A
// file that does not begin like such a copy belongs to the user and stays.
func removePart(path string) {
	head := make([]byte, 16)
	f, err := os.Open(path)
	if err != nil {
		return
	}
	n, _ := f.Read(head)
	f.Close()
	if n == 0 || string(head) == magic || string(head) == string(make([]byte, 16)) {
		if output.RemoveLeft(path) {
			os.Remove(path + "-journal")
		}
	}
}

// resume completes or undoes a move that a killed run left unfinished. It is an error if
// the journal is at another place now.
func (j *Journal) resume(moves []move) error {
	for _, m := range moves {
		part := partOf(m.to)
		_, copying := os.Lstat(part)
		switch {
		case m.from != j.path: // this is the new file, or a copy of either made by the user
			if m.to == j.path {
				if isClosed(m) {
					_ = removeOld(m) // whoever opens the old file gets an error
				}
			}
			if err := j.undoMove(false, m); err != nil {
				return err
			}
		case busy(part): // another run is moving it
			if m.state == "moved" {
				return movedTo(j.path, m.to, "it was not opened")
			}
		case m.state == "moving", copying == nil:
			if err := j.undoMove(false, m); err != nil {
				return err
			}
		default:
			if isJournal(m.to) {
				_ = removeOld(m)
			}
			return movedTo(j.path, m.to, "it was not opened")
		}
	}
	return nil
}

// busy reports whether another run is writing the file.
func busy(path string) bool {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return false
	}
	defer f.Close()
	return !output.Lock(f)
}

func isJournal(path string) bool {
	v, err := inspect(path, len(migrations()))
	return err == nil && v > 0
}

// isClosed reports whether the old file of a move refuses writes.
func isClosed(m move) bool {
	db, err := openReading(m.from)
	if err != nil {
		return false
	}
	defer db.Close()
	var n int
	err = db.QueryRow("SELECT count(*) FROM chore WHERE name = ?", move{"moved", m.from, m.to}.String()).Scan(&n)
	return err == nil && n == 1
}

func removeOld(m move) (err error) {
	for _, name := range []string{m.from, m.from + "-wal", m.from + "-shm"} {
		if e := os.Remove(name); e != nil && !errors.Is(e, os.ErrNotExist) {
			err = errors.Join(err, e)
		}
	}
	return errors.Join(err, syncFolder(filepath.Dir(m.from)))
}

func movedTo(path, to, doing string) error {
	return fault.Failed(fmt.Sprintf("the journal %q was moved to %q: %s", path, to, doing), fmt.Sprintf("name it with "+fault.Option("journal")+" %q", to), nil)
}

// trigger is an SQL trigger that refuses a kind of statement on a table of the old file.
type trigger struct{ name, table, what string }

func triggers() (out []trigger) {
	for _, table := range []string{"reading", "athlete", "rater"} {
		for _, what := range []string{"INSERT", "UPDATE", "DELETE"} {
			out = append(out, trigger{"moved_" + table + "_" + what, table, what})
		}
	}
	return out
}

// closingTriggers returns statements that make the old file refuse writes of programs that
// still have it open.
func closingTriggers(to string) (out []string) {
	to = strings.ReplaceAll(to, "'", "''")
	for _, t := range triggers() {
		out = append(out, fmt.Sprintf("CREATE TRIGGER %s BEFORE %s ON %s BEGIN SELECT RAISE(ABORT, '%s%s'); END", t.name, t.what, t.table, movedMark, to))
	}
	return out
}
