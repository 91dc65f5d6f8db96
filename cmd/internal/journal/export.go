package journal

import (
	"bufio"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"io"
	"iter"
	"math"
	"strconv"
	"strings"
)

// Schema names the version of the JSON form of a journal.
const Schema = "ecart/journal/1"

// Entries are the readings that the filter lets through, whole, by athlete and
// day, as the journal stands when the first is asked for.
func (j *Journal) Entries(ctx context.Context, f Filter) iter.Seq2[*Entry, error] {
	return func(yield func(*Entry, error) bool) {
		fail := func(err error) { yield(nil, explain(err, j.path, "it was not read")) }
		where, values := f.where()
		rows, err := j.db.QueryContext(ctx, "SELECT "+entryColumns+fromWhole+" WHERE "+where+order, values...)
		if err != nil {
			fail(err)
			return
		}
		defer rows.Close()
		for rows.Next() {
			e, err := scanEntry(rows.Scan)
			if err != nil {
				fail(err)
				return
			}
			if !yield(e, nil) {
				return
			}
		}
		if err := rows.Err(); err != nil {
			fail(err)
		}
	}
}

// Export writes the readings that the filter lets through as JSON, schema
// ecart/journal/1, one a line, and with the empty filter the raters too. Nothing
// is lost: Import makes the same journal of it, but for the readings' numbers,
// which belong to one file.
func (j *Journal) Export(ctx context.Context, w io.Writer, f Filter) error {
	if err := j.known(ctx, f); err != nil {
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
		e := json.NewEncoder(b)
		e.SetEscapeHTML(false) // a reading's bytes stay as they are
		return e.Encode(v)     // which ends the line
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
	for e, err := range j.Entries(ctx, f) {
		if err != nil {
			return err
		}
		if err := put([]string{"", ","}[min(n, 1)], e); err != nil {
			return err
		}
		n++
	}
	b.WriteString("]}\n")
	return b.Flush()
}

// known refuses a filter by an athlete who is not there.
func (j *Journal) known(ctx context.Context, f Filter) error {
	if f.Athlete == "" {
		return nil
	}
	_, err := j.athlete(ctx, j.db, f.Athlete)
	return explain(err, j.path, "it was not read")
}

// ExportCSV writes one row a reading, with units in the heads: ISO 8601 dates,
// decimal points, fields parted by commas, UTF-8 with the mark by which
// spreadsheets know it. A text that a spreadsheet would take for a formula has an
// apostrophe put before it.
func (j *Journal) ExportCSV(ctx context.Context, w io.Writer, f Filter) error {
	rows, err := j.List(ctx, f)
	if err != nil {
		return err
	}
	sources, err := budgetSources(rows)
	if err != nil {
		return err
	}
	if _, err := io.WriteString(w, "\ufeff"); err != nil {
		return err
	}
	c := csv.NewWriter(w)
	c.UseCRLF = true // RFC 4180
	head := []string{"reading", "athlete", "day", "session", "state", "condition", "side", "measure", "lines",
		"angle_deg", "standard_uncertainty_deg", "expanded_uncertainty_deg", "coverage", "low_deg", "high_deg",
		"rulebook", "skill", "asked_deg", "asked_is_at_most", "decision", "meets_probability",
		"rater", "setup", "note", "lens_sha256", "tool", "kept_at", "take", "take_sha256", "frame", "time_s", "width_px", "height_px"}
	for _, s := range sources {
		head = append(head, s+"_deg")
	}
	err = c.Write(append(head, "uid"))
	for i := range rows {
		r := &rows[i]
		atMost := ""
		if r.AskedDeg != nil {
			atMost = map[bool]string{true: "yes", false: "no"}[r.AtMost]
		}
		row := []string{strconv.FormatInt(r.ID, 10), text(r.Athlete), r.Day, text(r.Session), r.State, r.Condition, r.Side, text(r.Measure), text(r.Lines),
			number(r.AngleDeg), number(r.StandardUncertaintyDeg), number(r.ExpandedUncertaintyDeg), number(r.Coverage), number(r.IntervalDeg[0]), number(r.IntervalDeg[1]),
			text(r.Rulebook), text(r.Skill), optional(r.AskedDeg), atMost, text(r.Decision), optional(r.MeetsProbability),
			text(r.Rater), text(r.Setup), text(r.Note), r.Lens, text(r.Tool), r.KeptAt, text(r.Take.Name), r.Take.SHA256, strconv.Itoa(r.Take.Frame), number(r.Take.TimeS),
			strconv.Itoa(r.Take.WidthPx), strconv.Itoa(r.Take.HeightPx)}
		budget, e := r.Budget()
		for _, s := range sources {
			v, ok := budget[s]
			if !ok {
				v = math.NaN()
			}
			row = append(row, number(v))
		}
		err = errors.Join(err, e, c.Write(append(row, r.UID)))
	}
	c.Flush()
	return errors.Join(err, c.Error())
}

// text keeps a spreadsheet from working out what somebody typed as a name.
func text(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r\n", rune(s[0])) {
		return "'" + s
	}
	return s
}

// number is empty where there is none.
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
