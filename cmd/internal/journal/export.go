package journal

import (
	"bufio"
	"bytes"
	"context"
	"ecart/cmd/internal/output"
	"encoding/json"
	"errors"
	"io"
	"iter"
	"math"
	"strconv"

	lib "modernc.org/sqlite/lib"
)

// Schema names the version of the JSON form of a journal.
const Schema = "ecart/journal/1"

// Entries iterates over the complete readings that match the filter, by athlete and day, in
// the state of the journal at the start of the iteration. For a damaged reading it yields
// nil and a [*Damaged], and continues.
func (j *Journal) Entries(ctx context.Context, f Filter) iter.Seq2[*Entry, error] {
	return func(yield func(*Entry, error) bool) {
		fail := func(err error) { yield(nil, explain(err, j.path, "it was not read")) }
		conn, err := j.db.Conn(ctx)
		if err != nil {
			fail(err)
			return
		}
		defer conn.Close()
		if _, err := conn.ExecContext(ctx, "BEGIN"); err != nil { // one state of the file throughout
			fail(err)
			return
		}
		defer conn.ExecContext(context.WithoutCancel(ctx), "ROLLBACK")
		ids, err := idsOf(ctx, conn, f)
		if err != nil {
			fail(err)
			return
		}
		for _, id := range ids {
			e, err := show(ctx, conn, j.path, "r.id = ?", id)
			var d *Damaged
			switch c := code(err); {
			case errors.As(err, &d):
			case c == lib.SQLITE_CORRUPT || c == lib.SQLITE_NOTADB || errors.Is(err, ErrAbsent):
				err = &Damaged{ID: id, path: j.path, why: "the file cannot be read where it stands"}
			case err != nil:
				fail(err)
				return
			}
			if !yield(e, err) {
				return
			}
		}
		if d := j.incomplete(ctx, conn); d != nil {
			yield(nil, d)
		}
	}
}

// idsOf returns the ids of the readings that match the filter, in order.
func idsOf(ctx context.Context, q querier, f Filter) ([]int64, error) {
	where, values := f.where()
	rows, err := q.QueryContext(ctx, "SELECT r.id"+from+" WHERE "+where+order, values...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []int64
	for rows.Next() {
		var id int64
		if err := rows.Scan(&id); err != nil {
			return nil, err
		}
		out = append(out, id)
	}
	return out, rows.Err()
}

// Export writes the readings that match the filter as JSON, schema ecart/journal/1, one a
// line, and with an empty filter also the raters. Import restores the same journal from
// it, except for the readings' numbers, which belong to one file. Damaged readings are
// left out and returned as [DamagedReadings] after the others are written.
func (j *Journal) Export(ctx context.Context, w io.Writer, f Filter) error {
	if err := j.checkAthlete(ctx, f); err != nil {
		return err
	}
	raters := []Rater{}
	if where, _ := f.where(); where == "1" {
		var err error
		if raters, err = j.Raters(ctx); err != nil {
			return err
		}
	}
	b := bufio.NewWriter(w)
	put := func(before string, v any) error {
		b.WriteString(before)
		var line bytes.Buffer
		e := json.NewEncoder(&line)
		e.SetEscapeHTML(false) // a reading's bytes stay as they are
		if err := e.Encode(v); err != nil {
			return err
		}
		_, err := b.Write(output.EscapeJSON(line.Bytes())) // which ends the line
		return err
	}
	if err := put(`{"schema": `, Schema); err != nil {
		return err
	}
	b.WriteString(`, "raters": [` + "\n")
	for i, r := range raters {
		if err := put([]string{"", ","}[min(i, 1)], r); err != nil {
			return err
		}
	}
	b.WriteString(`], "readings": [` + "\n")
	n := 0
	var damaged DamagedReadings
	for e, err := range j.Entries(ctx, f) {
		var d *Damaged
		if errors.As(err, &d) {
			damaged = append(damaged, d)
			continue
		}
		if err != nil {
			return err
		}
		if err := put([]string{"", ","}[min(n, 1)], e); err != nil {
			return err
		}
		n++
	}
	b.WriteString("]}\n")
	if err := b.Flush(); err != nil {
		return err
	}
	return damaged.error()
}

// checkAthlete returns an error if the filter names an athlete who is not in the journal.
func (j *Journal) checkAthlete(ctx context.Context, f Filter) error {
	if f.Athlete == "" {
		return nil
	}
	_, err := j.athlete(ctx, j.db, f.Athlete)
	return explain(err, j.path, "it was not read")
}

// ExportCSV writes one row for each reading, with units in the column heads, ISO 8601
// dates and decimal points. Damaged readings are left out, and returned as [DamagedReadings].
func (j *Journal) ExportCSV(ctx context.Context, w io.Writer, f Filter) error {
	rows, err := j.List(ctx, f)
	var damaged DamagedReadings
	if err != nil && !errors.As(err, &damaged) {
		return err
	}
	sources, err := budgetSources(rows)
	if err != nil {
		return err
	}
	c, err := output.NewCSV(w, ',', true)
	if err != nil {
		return err
	}
	head := []string{"reading", "athlete", "day", "session", "state", "condition", "variant", "side", "measure", "lines",
		"angle_deg", "standard_uncertainty_deg", "expanded_uncertainty_deg", "coverage", "low_deg", "high_deg",
		"rulebook", "skill", "asked_deg", "asked_is_at_most", "decision", "meets_probability",
		"rater", "setup", "note", "lens_sha256", "tool", "kept_at", "take", "take_sha256", "frame", "time_s", "width_px", "height_px"}
	for _, s := range sources {
		head = append(head, s+"_deg")
	}
	err = c.Write(append(head, "uid")...)
	for i := range rows {
		r := &rows[i]
		atMost := ""
		if r.AskedDeg != nil {
			atMost = map[bool]string{true: "yes", false: "no"}[r.AtMost]
		}
		row := []string{strconv.FormatInt(r.ID, 10), r.Athlete, r.Day, r.Session, r.State, r.Condition, r.Variant, r.Side, r.Measure, r.Lines,
			number(r.AngleDeg), number(r.StandardUncertaintyDeg), number(r.ExpandedUncertaintyDeg), number(r.Coverage), number(r.IntervalDeg[0]), number(r.IntervalDeg[1]),
			r.Rulebook, r.Skill, optional(r.AskedDeg), atMost, r.Decision, optional(r.MeetsProbability),
			r.Rater, r.Setup, r.Note, r.Lens, r.Tool, r.KeptAt, r.Take.Name, r.Take.SHA256, strconv.Itoa(r.Take.Frame), number(r.Take.TimeS),
			strconv.Itoa(r.Take.WidthPx), strconv.Itoa(r.Take.HeightPx)}
		budget, e := r.Budget()
		for _, s := range sources {
			v, ok := budget[s]
			if !ok {
				v = math.NaN()
			}
			row = append(row, number(v))
		}
		err = errors.Join(err, e, c.Write(append(row, r.UID)...))
	}
	if err := errors.Join(err, c.Flush()); err != nil {
		return err
	}
	return damaged.error()
}

// number formats v, "" for NaN and infinities.
func number(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

func optional(v *float64) string {
	if v == nil {
		return ""
	}
	return number(*v)
}
