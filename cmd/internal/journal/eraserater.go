package journal

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
)

// EraseRater removes a rater: the figure, the name in the readings that the rater marked,
// and the name in the sentence by which a reading says whose figure was used. The
// readings and their results stay. Erased.Readings counts those that had the name.
func (j *Journal) EraseRater(ctx context.Context, name string) (Erased, error) {
	var out Erased
	var changes []change
	err := j.write(ctx, "nothing was erased", func(tx *sql.Tx) error {
		names, err := spellings(ctx, tx, name)
		if err != nil {
			return err
		}
		if len(names) == 0 {
			return absent(fmt.Sprintf("there is no rater %q in the journal %q", name, j.path), "'ecart journal list --json' shows who marked")
		}
		list := mustJSON(names)
		if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM reading WHERE rater IN (SELECT value FROM json_each(?))", list).Scan(&out.Readings); err != nil {
			return err
		}
		changes = []change{
			{"DELETE FROM rater WHERE key = ?", []any{key(name)}},
			{"UPDATE reading SET rater = '' WHERE rater IN (SELECT value FROM json_each(?))", []any{list}},
		}
		for _, n := range names {
			said, plain := inJSON(n+RaterSentence), inJSON("somebody"+RaterSentence)
			for _, column := range []string{"request", "reading"} {
				changes = append(changes, change{fmt.Sprintf("UPDATE whole SET %[1]s = replace(%[1]s, ?, ?) WHERE instr(%[1]s, ?)", column), []any{said, plain, said}})
			}
			changes = append(changes, change{"UPDATE former SET reading = replace(reading, ?, ?) WHERE instr(reading, ?)", []any{said, plain, said}})
		}
		sound, err := undamaged(ctx, tx, j.path, list)
		if err != nil {
			return err
		}
		changes = append(changes, change{sealText + "r.id IN (SELECT value FROM json_each(?))", []any{mustJSON(sound)}})
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
func undamaged(ctx context.Context, q querier, path, raters string) (out []int64, err error) {
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
			out = append(out, id)
		}
	}
	return out, nil
}
