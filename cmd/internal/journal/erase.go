package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	lib "modernc.org/sqlite/lib"

	"ecart/cmd/internal/fault"
)

// errHeld says that the file cannot be wiped because another program has it open.
var errHeld = errors.New("held open")

// Erased says what was erased.
type Erased struct {
	Readings int
	BackUps  []string // back-ups from which something was erased too
}

// Erase removes an athlete completely: all readings, the name, and their remains on free
// pages, in the write-ahead log and in the back-ups beside the file. If another program
// has the journal open, the athlete is removed but traces may remain in the file. Erase
// then returns an error that says so, and the next Open or Erase wipes them.
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
	err = j.wipe(ctx, &out, statement{"DELETE FROM athlete WHERE key = ?", []any{key(athlete)}})
	return out, err
}

// EraseReadings removes single readings, as [Journal.Erase] removes an athlete.
func (j *Journal) EraseReadings(ctx context.Context, ids ...int64) (Erased, error) {
	var uids []string
	err := j.write(ctx, "nothing was erased", func(tx *sql.Tx) error {
		for _, id := range ids {
			var uid string
			err := tx.QueryRowContext(ctx, "DELETE FROM reading WHERE id = ? RETURNING uid", id).Scan(&uid)
			if errors.Is(err, sql.ErrNoRows) {
				return absent(fmt.Sprintf("there is no reading %d in the journal %q: nothing was erased", id, j.path), fault.Operation("list the readings")+" shows the numbers there are")
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
	err = j.wipe(ctx, &out, statement{"DELETE FROM reading WHERE uid IN (SELECT value FROM json_each(?))", []any{mustJSON(uids)}})
	return out, err
}

// statement is an SQL statement with its values.
type statement struct {
	text   string
	values []any
}

// sealing begins a statement that is left out for a file whose form has no checksums.
const sealing = "INSERT OR REPLACE INTO checksum"

// wipe clears the file's free pages, makes the same changes in the back-ups, and removes
// incomplete back-ups of killed runs.
func (j *Journal) wipe(ctx context.Context, out *Erased, changes ...statement) error {
	j.removeParts()
	sweepErr := j.sweep(ctx)
	copies, err := j.BackUps()
	for _, name := range copies {
		n, e := eraseFromCopy(ctx, name, changes)
		if e != nil {
			e = explain(e, name, "it was not erased there")
			e = fault.Failed(fmt.Sprintf("it was erased from the journal, but stays in a back-up: %v", e), fmt.Sprintf("delete the file %q by hand", name), e)
		}
		if n > 0 {
			out.BackUps = append(out.BackUps, name)
		}
		err = errors.Join(err, e)
	}
	return errors.Join(sweepErr, err)
}

// sweep rewrites the file without its free pages, and empties the write-ahead log into
// it. Deleted data were overwritten with zeros on deletion (secure_delete in Open); sweep
// removes copies that SQLite made within the file.
func (j *Journal) sweep(ctx context.Context) error {
	j.writing.Lock()
	defer j.writing.Unlock()
	traces := func(why, hint string, err error) error {
		return fault.Failed(fmt.Sprintf("it is out of the journal %q, but %s and traces may stay in it", j.path, why), hint+"; the next time the journal is opened they are wiped", err)
	}
	held := func(err error) error {
		return traces("another program holds the file open", "close the other program", errors.Join(errHeld, err))
	}
	_, err := j.db.ExecContext(ctx, "VACUUM")
	if err == nil {
		_, err = j.db.ExecContext(ctx, "DELETE FROM chore WHERE name = 'sweep'")
	}
	// even if VACUUM failed, since what it wrote into the log takes room on the drive
	var busy, frames, moved int
	checkpointErr := j.db.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &frames, &moved)
	switch c := code(err); {
	case c == lib.SQLITE_BUSY, c == lib.SQLITE_LOCKED:
		return held(err)
	case c == lib.SQLITE_FULL, c == lib.SQLITE_IOERR, c == lib.SQLITE_NOMEM:
		return traces("the drive is too full to write the file anew", "make room on the drive", err)
	case err != nil:
		return explain(err, j.path, "it is out of the journal, but traces may stay in the file")
	}
	if checkpointErr != nil || busy != 0 {
		_, noteErr := j.db.ExecContext(ctx, "INSERT OR IGNORE INTO chore (name) VALUES ('sweep')")
		return held(errors.Join(checkpointErr, noteErr))
	}
	return nil
}

// eraseFromCopy changes a back-up, which no other program has open, and returns the number
// of rows changed. Every form of the file has the tables athlete, reading, whole and
// rater; rows that refer to deleted rows are deleted with them.
func eraseFromCopy(ctx context.Context, name string, changes []statement) (n int64, err error) {
	db, err := sql.Open("sqlite", address(name, "mode=rw", pragma("foreign_keys", 1), pragma("secure_delete", 1), pragma("temp_store", "MEMORY")))
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	var sealed int
	if err := db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema WHERE name = 'checksum'").Scan(&sealed); err != nil {
		return 0, err
	}
	for _, c := range changes {
		if strings.HasPrefix(c.text, sealing) && sealed == 0 {
			continue
		}
		res, err := db.ExecContext(ctx, c.text, c.values...)
		if err != nil {
			return n, err
		}
		some, err := res.RowsAffected()
		if err != nil {
			return n, err
		}
		n += some
	}
	if n > 0 {
		_, err = db.ExecContext(ctx, "VACUUM")
	}
	return n, err
}

// EraseRater removes a rater: the figure, the name in the readings that the rater marked,
// and the name in the sentence by which a reading says whose figure was used. The
// readings and their results stay. Erased.Readings counts those that had the name.
func (j *Journal) EraseRater(ctx context.Context, name string) (Erased, error) {
	var out Erased
	var changes []statement
	err := j.write(ctx, "nothing was erased", func(tx *sql.Tx) error {
		names, err := spellings(ctx, tx, name)
		if err != nil {
			return err
		}
		if len(names) == 0 {
			return absent(fmt.Sprintf("there is no rater %q in the journal %q", name, j.path), fault.Operation("list who marked")+" shows who marked")
		}
		list := mustJSON(names)
		if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM reading WHERE rater IN (SELECT value FROM json_each(?))", list).Scan(&out.Readings); err != nil {
			return err
		}
		changes = []statement{
			{"DELETE FROM rater WHERE key = ?", []any{key(name)}},
			{"UPDATE reading SET rater = '' WHERE rater IN (SELECT value FROM json_each(?))", []any{list}},
		}
		for _, n := range names {
			said, plain := inJSON(n+RaterSentence), inJSON("somebody"+RaterSentence)
			for _, column := range []string{"request", "reading"} {
				changes = append(changes, statement{fmt.Sprintf("UPDATE whole SET %[1]s = replace(%[1]s, ?, ?) WHERE instr(%[1]s, ?)", column), []any{said, plain, said}})
			}
			changes = append(changes, statement{"UPDATE former SET reading = replace(reading, ?, ?) WHERE instr(reading, ?)", []any{said, plain, said}})
		}
		sound, err := undamaged(ctx, tx, j.path, list)
		if err != nil {
			return err
		}
		changes = append(changes, statement{sealText + "r.id IN (SELECT value FROM json_each(?))", []any{mustJSON(sound)}})
		for _, c := range changes {
			if _, err := tx.ExecContext(ctx, c.text, c.values...); err != nil {
				return err
			}
		}
		_, err = tx.ExecContext(ctx, "INSERT OR IGNORE INTO chore (name) VALUES ('sweep')")
		return err
	})
	if err != nil {
		return Erased{}, err
	}
	return out, j.wipe(ctx, &out, changes...)
}

// RaterSentence follows a rater's name in a reading that used the rater's figure.
const RaterSentence = " marked the same frames again on "

// inJSON returns a text as it is written within a JSON string.
func inJSON(s string) string { return strings.Trim(mustJSON(s), `"`) }

// spellings returns the different spellings of a rater's name in the journal.
func spellings(ctx context.Context, q querier, name string) (out []string, err error) {
	rows, err := q.QueryContext(ctx, "SELECT name FROM rater UNION SELECT DISTINCT rater FROM reading")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var n string
		if err := rows.Scan(&n); err != nil {
			return nil, err
		}
		if n != "" && key(n) == key(name) {
			out = append(out, n)
		}
	}
	return out, rows.Err()
}

// undamaged returns the readings that will be changed, except damaged ones: a new
// checksum would hide their damage.
func undamaged(ctx context.Context, q querier, path, raters string) (ids []int64, err error) {
	rows, err := q.QueryContext(ctx, "SELECT r.id FROM reading r JOIN whole w ON w.reading_id = r.id WHERE r.rater IN (SELECT value FROM json_each(?1)) OR EXISTS (SELECT 1 FROM json_each(?1) n WHERE instr(w.request, n.value || ?2) OR instr(w.reading, n.value || ?2))", raters, RaterSentence)
	if err != nil {
		return nil, err
	}
	var all []int64
	for rows.Next() {
		var id int64
		if err := rows.Scan(&id); err != nil {
			rows.Close()
			return nil, err
		}
		all = append(all, id)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	for _, id := range all {
		if _, err := show(ctx, q, path, "r.id = ?", id); err == nil {
			ids = append(ids, id)
		}
	}
	return ids, nil
}
