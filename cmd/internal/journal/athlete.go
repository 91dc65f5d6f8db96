package journal

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
)

// Athlete is a person with readings in the journal.
type Athlete struct {
	ID       int64  `json:"-"` // its number in this journal
	Name     string `json:"name"`
	Days     int    `json:"days"`
	Readings int    `json:"readings"`
	First    string `json:"first"` // day
	Last     string `json:"last"`  // day
}

// Athletes returns all athletes, by name.
func (j *Journal) Athletes(ctx context.Context) ([]Athlete, error) {
	const doing = "it was not read"
	rows, err := j.db.QueryContext(ctx, "SELECT a.id, a.name, count(DISTINCT s.day), count(*), min(s.day), max(s.day)"+from+" GROUP BY a.id ORDER BY a.key")
	if err != nil {
		return nil, explain(err, j.path, doing)
	}
	defer rows.Close()
	var out []Athlete
	for rows.Next() {
		var a Athlete
		if err := rows.Scan(&a.ID, &a.Name, &a.Days, &a.Readings, &a.First, &a.Last); err != nil {
			return nil, explain(err, j.path, doing)
		}
		out = append(out, a)
	}
	return out, explain(rows.Err(), j.path, doing)
}

// athlete returns the id of an athlete. An unknown name is an error.
func (j *Journal) athlete(ctx context.Context, q querier, name string) (id int64, err error) {
	err = q.QueryRowContext(ctx, "SELECT id FROM athlete WHERE key = ?", key(name)).Scan(&id)
	if !errors.Is(err, sql.ErrNoRows) {
		return id, err
	}
	return 0, absent(fmt.Sprintf("there is no athlete %q in the journal %q", name, j.path), fault.Operation("list the readings")+" shows who there is")
}

// Move assigns readings to another athlete, who is created if new, and returns their
// number. The filter must name an athlete or readings. The takes of the readings are
// then named by their content, since their file names may contain the athlete's name;
// with keepTakes they keep their names. An athlete without readings is removed, and the
// freed pages are wiped, so that moving all readings also replaces a name by a
// pseudonym. Back-ups made before the file's form changed are not touched.
func (j *Journal) Move(ctx context.Context, f Filter, to string, keepTakes bool) (moved int, err error) {
	const doing = "nothing was moved"
	if f.Athlete == "" && f.IDs == nil {
		return 0, fault.New("nothing was named that should be moved", "name an athlete, or readings by their numbers")
	}
	probe := Entry{Athlete: to}
	if err := probe.CheckNames(); err != nil {
		return 0, err
	}
	err = j.write(ctx, doing, func(tx *sql.Tx) error {
		if f.Athlete != "" {
			if _, err := j.athlete(ctx, tx, f.Athlete); err != nil {
				return err
			}
		}
		where, values := f.where()
		rows, err := tx.QueryContext(ctx, "SELECT r.id, s.day, s.label, a.key, r.take_name, r.take_sha256"+from+" WHERE "+where, values...)
		if err != nil {
			return err
		}
		defer rows.Close()
		var list []Row
		for rows.Next() {
			var r Row
			if err := rows.Scan(&r.ID, &r.Day, &r.Session, &r.key, &r.Take.Name, &r.Take.SHA256); err != nil {
				return err
			}
			list = append(list, r)
		}
		if err := rows.Err(); err != nil {
			return err
		}
		if missing := len(f.IDs) - len(list); f.IDs != nil && missing > 0 {
			return absent(fmt.Sprintf("%d of the %d readings named are not there", missing, len(f.IDs)), fault.Operation("list the readings")+" shows the numbers there are")
		}
		for _, r := range list {
			session, err := sessionOf(ctx, tx, probe.Athlete, r.Day, r.Session)
			if err != nil {
				return err
			}
			if _, err := tx.ExecContext(ctx, "UPDATE reading SET session_id = ? WHERE id = ?", session, r.ID); err != nil {
				return err
			}
			if !keepTakes && r.key != key(probe.Athlete) {
				if err := renameTakeOf(ctx, tx, r.ID, neutralName(r.Take.Name, r.Take.SHA256)); err != nil {
					return err
				}
			}
		}
		// it may be the same athlete with another spelling
		if _, err := tx.ExecContext(ctx, "UPDATE athlete SET name = ? WHERE key = ?", probe.Athlete, key(probe.Athlete)); err != nil {
			return err
		}
		moved = len(list)
		return removeEmpty(ctx, tx)
	})
	if err != nil {
		return 0, err
	}
	return moved, j.sweep(ctx)
}

// renameTakeOf replaces the name of a reading's take everywhere in the journal. A damaged
// reading is an error.
func renameTakeOf(ctx context.Context, tx *sql.Tx, id int64, name string) error {
	e, err := show(ctx, tx, "", "r.id = ?", id)
	if err != nil {
		return err
	}
	renamed, err := renameTake(e.Reading, name)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, "UPDATE reading SET take_name = ? WHERE id = ?", name, id); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, "UPDATE whole SET reading = ? WHERE reading_id = ?", string(renamed), id); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, "DELETE FROM former WHERE reading_id = ?", id); err != nil {
		return err
	}
	for _, f := range e.Former {
		if renamed, err = renameTake(f.Reading, name); err != nil {
			return err
		}
		if err := putFormer(ctx, tx, id, f.Tool, f.ReplacedAt, renamed); err != nil {
			return err
		}
	}
	return seal(ctx, tx, "r.id = ?", id)
}

// removeEmpty deletes sessions and athletes without readings, and records that their
// pages have to be wiped.
func removeEmpty(ctx context.Context, tx *sql.Tx) error {
	for _, text := range []string{
		"DELETE FROM session WHERE id NOT IN (SELECT session_id FROM reading)",
		"DELETE FROM athlete WHERE id NOT IN (SELECT athlete_id FROM session)",
		"INSERT OR IGNORE INTO chore (name) VALUES ('sweep')",
	} {
		if _, err := tx.ExecContext(ctx, text); err != nil {
			return err
		}
	}
	return nil
}

// neutralName returns a name for a take whose file name may contain the athlete's name: the
// start of its SHA-256, with the old extension.
func neutralName(old, sha256 string) string {
	ending := strings.ToLower(filepath.Ext(old))
	if !slices.Contains([]string{".mp4", ".mov", ".m4v", ".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif"}, ending) {
		ending = ""
	}
	return "take-" + sha256[:min(8, len(sha256))] + ending
}

// renameTake replaces the name of the take in a reading's JSON and changes no other byte.
func renameTake(reading []byte, name string) (json.RawMessage, error) {
	d := json.NewDecoder(bytes.NewReader(reading))
	for _, key := range []string{"take", "name"} {
		if t, err := d.Token(); err != nil || t != json.Delim('{') {
			return nil, errors.New("journal: a reading without a take")
		}
		for {
			if !d.More() {
				return nil, errors.New("journal: a reading whose take has no name")
			}
			t, err := d.Token()
			if err != nil {
				return nil, err
			}
			if t == key {
				break
			}
			var skip json.RawMessage
			if err := d.Decode(&skip); err != nil {
				return nil, err
			}
		}
	}
	from := d.InputOffset()
	var old json.RawMessage
	if err := d.Decode(&old); err != nil {
		return nil, err
	}
	to := d.InputOffset()
	quoted, err := json.Marshal(name)
	if err != nil {
		return nil, err
	}
	out := append([]byte(nil), reading[:from]...)
	out = append(append(out, ':'), quoted...)
	return append(out, reading[to:]...), nil
}
