package journal

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"math"

	"ecart/cmd/internal/fault"
)

// Rater is a person who marks, with the precision of placement, found by marking the same
// frames again.
type Rater struct {
	Name       string          `json:"name"`
	Day        string          `json:"day"`          // on which the frames were marked again
	SDPx       float64         `json:"sd_px"`        // standard deviation of one placement, each axis
	Freedom    float64         `json:"freedom"`      // its degrees of freedom
	LongSidePx int             `json:"long_side_px"` // longer side of the pictures: placement on a screen scales with it
	Details    json.RawMessage `json:"details"`      // further results
}

func (r *Rater) complete(today string) (err error) {
	probe := Entry{Athlete: r.Name}
	if r.Name = clean(r.Name); r.Name == "" {
		return fault.New("no rater was named", "give the name of whoever marked: "+fault.Option("rater")+" NAME")
	}
	if err := probe.CheckNames(); err != nil {
		return err
	}
	if err := checkDay(r.Day, today); err != nil {
		return err
	}
	if !(r.SDPx > 0) || math.IsInf(r.SDPx, 0) || !(r.Freedom > 0) || math.IsInf(r.Freedom, 0) || r.LongSidePx <= 0 {
		return fault.New(fmt.Sprintf("the rater %q has the placement figure %g px with %g degrees of freedom", r.Name, r.SDPx, r.Freedom), "mark some frames again and have it found anew")
	}
	if len(r.Details) == 0 {
		r.Details = json.RawMessage("{}")
	}
	r.Details, err = compact("rater's details", r.Details)
	return err
}

// KeepRater stores a rater's figure and replaces an earlier one.
func (j *Journal) KeepRater(ctx context.Context, r Rater) error {
	if err := r.complete(j.today()); err != nil {
		return err
	}
	return j.write(ctx, "the rater's figure was not kept", func(tx *sql.Tx) error { return putRater(ctx, tx, r) })
}

func putRater(ctx context.Context, tx *sql.Tx, r Rater) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO rater (name, key, day, sd_px, freedom, long_side_px, details) VALUES (?, ?, ?, ?, ?, ?, ?)
 ON CONFLICT (key) DO UPDATE SET name = excluded.name, day = excluded.day, sd_px = excluded.sd_px, freedom = excluded.freedom, long_side_px = excluded.long_side_px, details = excluded.details`,
		r.Name, key(r.Name), r.Day, r.SDPx, r.Freedom, r.LongSidePx, string(r.Details))
	return err
}

const selectRater = "SELECT name, day, sd_px, freedom, long_side_px, details FROM rater"

func scanRater(scan func(...any) error) (r Rater, err error) {
	var details string
	err = scan(&r.Name, &r.Day, &r.SDPx, &r.Freedom, &r.LongSidePx, &details)
	r.Details = json.RawMessage(details)
	return r, err
}

func findRater(ctx context.Context, q querier, name string) (Rater, error) {
	r, err := scanRater(q.QueryRowContext(ctx, selectRater+" WHERE key = ?", key(name)).Scan)
	if errors.Is(err, sql.ErrNoRows) {
		return Rater{}, ErrAbsent
	}
	return r, err
}

// Rater returns the figure kept for a rater.
func (j *Journal) Rater(ctx context.Context, name string) (Rater, error) {
	r, err := findRater(ctx, j.db, name)
	if errors.Is(err, ErrAbsent) {
		return r, absent(fmt.Sprintf("there is no rater %q in the journal %q", name, j.path), "have the figure found first, by marking the same frames again: "+fault.Operation("find out how well somebody places marks"))
	}
	return r, explain(err, j.path, "it was not read")
}

// Raters returns all raters, by name.
func (j *Journal) Raters(ctx context.Context) ([]Rater, error) {
	const doing = "it was not read"
	rows, err := j.db.QueryContext(ctx, selectRater+" ORDER BY key")
	if err != nil {
		return nil, explain(err, j.path, doing)
	}
	defer rows.Close()
	out := []Rater{}
	for rows.Next() {
		r, err := scanRater(rows.Scan)
		if err != nil {
			return nil, explain(err, j.path, doing)
		}
		out = append(out, r)
	}
	return out, explain(rows.Err(), j.path, doing)
}
