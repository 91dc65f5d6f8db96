package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	lib "modernc.org/sqlite/lib"
)

// errHeld says that another program keeps the file from being wiped.
var errHeld = errors.New("held open")

// Erased is what was taken out of the journal.
type Erased struct {
	Readings int
	BackUps  []string // copies beside the journal out of which it was taken too
}

// Erase takes an athlete out wholly: every reading, the name, and what of them
// stands on free pages, in the write-ahead log and in the back-ups beside the file.
// Where another program holds the journal open, the athlete is gone but traces stay
// in the file until it lets go: that is an error which says so, and the next Open
// or Erase wipes them.
func (j *Journal) Erase(ctx context.Context, athlete string) (Erased, error) {
	var out Erased
	err := j.write(ctx, "nothing was erased", func(tx *sql.Tx) error {
		id, err := j.athlete(ctx, tx, athlete)
		if err != nil {
			return err
		}
		if err := tx.QueryRowContext(ctx, "SELECT count(*)"+from+" WHERE a.id = ?", id).Scan(&out.Readings); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "DELETE FROM athlete WHERE id = ?", id); err != nil {
			return err
		}
		return removeEmpty(ctx, tx)
	})
	if err != nil {
		return Erased{}, err
	}
	err = j.wipe(ctx, &out, "DELETE FROM athlete WHERE key = ?", key(athlete))
	return out, err
}

// EraseReadings takes single readings out as [Journal.Erase] does an athlete.
func (j *Journal) EraseReadings(ctx context.Context, ids ...int64) (Erased, error) {
	var uids []string
	err := j.write(ctx, "nothing was erased", func(tx *sql.Tx) error {
		for _, id := range ids {
			var uid string
			err := tx.QueryRowContext(ctx, "DELETE FROM reading WHERE id = ? RETURNING uid", id).Scan(&uid)
			if errors.Is(err, sql.ErrNoRows) {
				return absent(fmt.Sprintf("there is no reading %d in the journal %q: nothing was erased", id, j.path), "'ecart journal list' shows the numbers there are")
			}
			if err != nil {
				return err
			}
			uids = append(uids, uid)
		}
		return removeEmpty(ctx, tx)
	})
	if err != nil {
		return Erased{}, err
	}
	out := Erased{Readings: len(uids)}
	err = j.wipe(ctx, &out, "DELETE FROM reading WHERE uid IN (SELECT value FROM json_each(?))", mustJSON(uids))
	return out, err
}

// wipe clears the file's free pages, and takes out of the back-ups what was taken
// out of the journal.
func (j *Journal) wipe(ctx context.Context, out *Erased, remove string, value any) error {
	swept := j.sweep(ctx)
	copies, err := j.BackUps()
	for _, name := range copies {
		n, e := eraseFromCopy(ctx, name, remove, value)
		if e != nil {
			e = &Fault{fmt.Sprintf("it was erased from the journal, but stays in the back-up %q (%v)", name, e), "delete that file by hand", e, true}
		}
		if n > 0 {
			out.BackUps = append(out.BackUps, name)
		}
		err = errors.Join(err, e)
	}
	return errors.Join(swept, err)
}

// sweep writes the file anew without its free pages, and empties the write-ahead
// log into it.
func (j *Journal) sweep(ctx context.Context) error {
	j.writing.Lock()
	defer j.writing.Unlock()
	held := func(err error) error {
		return &Fault{fmt.Sprintf("it is out of the journal %q, but another program holds the file open and traces may stay in it", j.path),
			"close the other program; the next time the journal is opened they are wiped", errors.Join(errHeld, err), true}
	}
	if _, err := j.db.ExecContext(ctx, "VACUUM"); code(err) == lib.SQLITE_BUSY {
		return held(err)
	} else if err != nil {
		return explain(err, j.path, "it is out of the journal, but traces may stay in the file")
	}
	if _, err := j.db.ExecContext(ctx, "DELETE FROM chore WHERE name = 'sweep'"); err != nil {
		return held(err)
	}
	var busy, frames, moved int
	if err := j.db.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &frames, &moved); err != nil || busy != 0 {
		_, again := j.db.ExecContext(ctx, "INSERT OR IGNORE INTO chore (name) VALUES ('sweep')")
		return held(errors.Join(err, again))
	}
	return nil
}

// finish does what was begun and could not be finished. What still cannot be is
// left for the next time: it does not keep anybody from their readings.
func (j *Journal) finish() error {
	var due int
	if err := j.db.QueryRow("SELECT count(*) FROM chore WHERE name = 'sweep'").Scan(&due); err != nil || due == 0 {
		return err
	}
	if err := j.sweep(context.Background()); err != nil && !errors.Is(err, errHeld) {
		return err
	}
	return nil
}

// eraseFromCopy takes rows out of a back-up, which nobody else has open. Every
// form of the file has the tables athlete and reading, and what hangs on them goes
// with them.
func eraseFromCopy(ctx context.Context, name, remove string, value any) (n int64, err error) {
	db, err := sql.Open("sqlite", address(name, "mode=rw", pragma("foreign_keys", 1), pragma("secure_delete", 1), pragma("temp_store", "MEMORY")))
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	res, err := db.ExecContext(ctx, remove, value)
	if err != nil {
		return 0, err
	}
	if n, err = res.RowsAffected(); err != nil || n == 0 {
		return n, err
	}
	_, err = db.ExecContext(ctx, "VACUUM")
	return n, err
}
