package journal

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"maps"
	"math"
	"slices"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
)

// Remade is a reading that was made again.
type Remade struct {
	Entry   *Entry
	Before  *reading.Reading
	After   *reading.Reading // nil if it could not be made; Err says why
	Changes []Figure         // empty if nothing changed
	Err     error
}

// Figure is a number of a reading before and after it was made again, NaN if there was
// none.
type Figure struct {
	Name          string
	Before, After float64
}

// sameFigure is the largest difference between equal figures, in degrees or as a
// probability. Machines differ in the last bits of a sum of products, far below any printed
// digit.
const sameFigure = 1e-9

// Recompute makes each reading that matches the filter again, by remake, and yields the
// results. It does not write to the journal: see Replace. The list of readings is made at
// the start. Readings erased meanwhile are skipped; for a damaged one Err is a [*Damaged].
func (j *Journal) Recompute(ctx context.Context, f Filter, remake func(*Entry) (*reading.Reading, error)) iter.Seq2[Remade, error] {
	return func(yield func(Remade, error) bool) {
		rows, err := j.List(ctx, f)
		var damaged DamagedReadings
		if err != nil && !errors.As(err, &damaged) {
			yield(Remade{}, err)
			return
		}
		for _, d := range damaged {
			if d.ID == 0 { // damage of the file, not of one reading
				continue
			}
			if !yield(damagedRemade(d), nil) {
				return
			}
		}
		for i := range rows {
			if err := ctx.Err(); err != nil {
				yield(Remade{}, err)
				return
			}
			e, err := j.Show(ctx, rows[i].ID)
			if errors.Is(err, ErrAbsent) {
				continue
			}
			var m Remade
			var d *Damaged
			if errors.As(err, &d) {
				m, err = damagedRemade(d), nil
			} else if err == nil {
				m, err = remakeOne(e, remake)
			}
			if !yield(m, err) || err != nil {
				return
			}
		}
	}
}

// damagedRemade returns the result for a damaged reading, which cannot be made again.
func damagedRemade(d *Damaged) Remade {
	return Remade{Entry: &Entry{ID: d.ID, Athlete: d.Athlete, Day: d.Day}, Err: d}
}

func remakeOne(e *Entry, remake func(*Entry) (*reading.Reading, error)) (Remade, error) {
	before, err := e.Parse()
	if err != nil {
		return Remade{}, err
	}
	m := Remade{Entry: e, Before: before}
	if m.After, m.Err = remake(e); m.Err == nil {
		m.Changes = Compare(before, m.After)
	}
	return m, nil
}

// Compare returns the figures in which two readings differ: angle, uncertainties,
// interval, each source of the budget, the angle asked and the probabilities.
func Compare(before, after *reading.Reading) []Figure {
	a, b := figuresOf(before), figuresOf(after)
	var out []Figure
	names := maps.Clone(a)
	maps.Copy(names, b)
	for _, name := range slices.Sorted(maps.Keys(names)) {
		f := Figure{name, math.NaN(), math.NaN()}
		x, inA := a[name]
		y, inB := b[name]
		if inA {
			f.Before = x
		}
		if inB {
			f.After = y
		}
		if inA != inB || !(math.Abs(x-y) <= sameFigure) {
			out = append(out, f)
		}
	}
	return out
}

func figuresOf(r *reading.Reading) map[string]float64 {
	f := map[string]float64{
		"angle_deg": r.AngleDeg, "standard_uncertainty_deg": r.StandardUncertaintyDeg, "expanded_uncertainty_deg": r.ExpandedUncertaintyDeg,
		"coverage": r.Coverage, "interval_deg low": r.IntervalDeg[0], "interval_deg high": r.IntervalDeg[1], "picture_angle_deg": r.PictureAngleDeg,
	}
	for _, b := range r.Budget {
		f["budget "+b.Source] = b.StandardUncertaintyDeg
	}
	if r.Skill != nil {
		f["threshold_deg"] = r.Skill.ThresholdDeg
	}
	for _, p := range r.Widths() {
		f[p.Name+" ratio"] = p.Ratio
		if p.Rule != nil {
			for _, b := range p.Rule.Bands {
				f[p.Name+" band "+b.Label] = b.Probability
			}
		}
	}
	if v := r.Verdict; v != nil {
		f["meets_probability"] = v.MeetsProbability
		for _, b := range v.Bands {
			f["band "+b.Label] = b.Probability
		}
	}
	return f
}

// Replace replaces a kept reading by one that was made again. The earlier result is added
// to the entry's Former. tool is the version that made the new reading.
func (j *Journal) Replace(ctx context.Context, id int64, r *reading.Reading, tool string) error {
	const doing = "the reading was not replaced"
	data, err := json.Marshal(r)
	if err != nil {
		return fault.New(fmt.Sprintf("the new reading cannot be written: %v", err), "make it again")
	}
	return j.write(ctx, doing, func(tx *sql.Tx) error {
		old, err := show(ctx, tx, j.path, "r.id = ?", id)
		if errors.Is(err, ErrAbsent) {
			return absent(fmt.Sprintf("there is no reading %d in the journal %q", id, j.path), fault.Operation("list the readings")+" shows the numbers there are")
		}
		if err != nil {
			return err
		}
		e := *old
		e.Reading, e.Tool = data, tool
		read, err := e.complete(j.today())
		if err != nil {
			return err
		}
		if e.UID != old.UID {
			return fault.New(fmt.Sprintf("what was made again is not reading %d: it is of another take, frame or measure", id), "make it from what the journal kept of it")
		}
		if err := putFormer(ctx, tx, id, old.Tool, j.stamp(), old.Reading); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "UPDATE whole SET reading = ? WHERE reading_id = ?", string(e.Reading), id); err != nil {
			return err
		}
		for _, c := range figures(tool, read) {
			if _, err := tx.ExecContext(ctx, "UPDATE reading SET "+c.name+" = ? WHERE id = ?", c.value, id); err != nil {
				return err
			}
		}
		return seal(ctx, tx, "r.id = ?", id)
	})
}
