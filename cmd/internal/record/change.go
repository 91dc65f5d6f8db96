package record

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
)

// ChangeSchema names the version of the JSON of a Change.
const ChangeSchema = "ecart/change/1"

// ChangeAsk is the input of [Record.Change].
type ChangeAsk struct {
	Filter     journal.Filter // of one athlete, and of one measure if that is named
	Variant    *string        // readings in this position alone, "" the usual one; nil: the position with the most days
	Goal       Goal
	Confidence float64 // what intervals hold and a real change takes, 0.5 to 1
}

// Goal is what readings are compared with: a skill, an angle, or, if neither is given, what the
// readings themselves were asked.
type Goal struct {
	Skill string
	Deg   *float64
}

// Change is how one athlete's angle changed, and its JSON.
type Change struct {
	Schema   string            `json:"schema"`
	Athlete  string            `json:"athlete"`
	Measure  string            `json:"measure"`
	Today    string            `json:"today"` // by which the notes speak of the past
	Trends   []*change.Trend   `json:"trends"`
	Sides    *change.Asymmetry `json:"sides,omitempty"`    // left against right
	NoSides  string            `json:"no_sides,omitempty"` // why there is none though both were read
	Beside   []BesideTrend     `json:"beside,omitempty"`   // of the angles read beside this one, where there is one trend
	WarmUp   *change.WarmUp    `json:"warm_up,omitempty"`  // cold to warm, over all sessions with both
	Statures []Stature         `json:"statures,omitempty"` // each change of the stated stature
	Sessions []change.Step     `json:"sessions"`           // before and after of one session
	Unlike   *BetweenStates    `json:"unlike,omitempty"`   // between days of unlike states
	Notes    []string          `json:"notes"`
	Cautions []string          `json:"cautions"`

	Readings []change.Reading `json:"-"`
}

// BetweenStates is the difference between the first and the last day of all readings, if these are of
// unlike states.
type BetweenStates struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
	*change.Difference
}

// Change computes the change of an athlete in the journal.
func (d *Record) Change(ctx context.Context, a ChangeAsk) (*Change, error) {
	if err := desk.CheckFilter(a.Filter); err != nil {
		return nil, err
	}
	if err := CheckConfidence(a.Confidence); err != nil {
		return nil, err
	}
	deg, atMost, err := d.goal(a.Goal, &a.Filter.Measure)
	if err != nil {
		return nil, err
	}
	j, err := d.OpenJournal(journal.Options{Read: true})
	if err != nil {
		return nil, err
	}
	defer j.Close()
	return d.changeIn(ctx, j, a.Filter, a.Variant, change.Options{AskedDeg: deg, AtMost: atMost, Coverage: a.Confidence})
}

// changeIn computes the change from the readings that match the filter; with a variant, from those in
// that position.
func (d *Record) changeIn(ctx context.Context, j *journal.Journal, q journal.Filter, variant *string, opt change.Options) (*Change, error) {
	rows, err := rowsOf(ctx, j, q)
	if err == nil && variant != nil {
		rows, err = inPosition(rows, q.Measure, *variant)
	}
	if err != nil {
		return nil, err
	}
	out, err := changeOf(rows, opt, d.Now())
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(rows, byDay)
	entries, err := entriesOf(ctx, j, rows)
	if err != nil {
		return nil, err
	}
	out.Statures = staturesOf(entries)
	if note := GrowthNote(out.Statures, out.Trends); note != "" {
		out.Notes = append(out.Notes, note)
	}
	if len(out.Trends) != 1 {
		return out, nil
	}
	out.Beside, err = besideTrends(entries, out.Trends[0], out.Readings, opt)
	return out, err
}

// entriesOf returns the entries of rows, in their order. Damaged ones are left out.
func entriesOf(ctx context.Context, j *journal.Journal, rows []journal.Row) (out []*journal.Entry, err error) {
	for i := range rows {
		e, err := j.Show(ctx, rows[i].ID)
		if one := new(journal.Damaged); errors.As(err, &one) {
			continue
		}
		if err != nil {
			return nil, err
		}
		out = append(out, e)
	}
	return out, nil
}

// changeOf computes the change from the rows of one athlete, which are of one measure if
// that was named.
func changeOf(rows []journal.Row, opt change.Options, now time.Time) (*Change, error) {
	today := now.Format(time.DateOnly)
	out := &Change{Schema: ChangeSchema, Athlete: rows[0].Athlete, Today: today, Sessions: []change.Step{}, Notes: []string{}}
	rows, err := notAhead(rows, today, &out.Notes)
	if err != nil {
		return nil, err
	}
	if out.Measure, err = oneMeasure(rows); err != nil {
		return nil, err
	}
	rs, err := changeRows(rows)
	if err != nil {
		return nil, err
	}
	out.Readings = rs
	for _, group := range bySaidSide(rs, &out.Notes) {
		t, err := change.NewTrend(group, opt)
		if err != nil {
			return nil, err
		}
		out.Trends = append(out.Trends, t)
		out.noteAge(t, now)
	}
	if len(out.Trends) == 1 {
		out.betweenStates(rs, opt.Coverage)
	}
	if hasBothSides(rs) {
		if out.Sides, err = change.Sides(rs, opt.Coverage); err != nil {
			out.NoSides = err.Error()
		}
	}
	steps, err := change.Steps(rs, opt.Coverage)
	if err != nil {
		return nil, err
	}
	out.Sessions = append(out.Sessions, steps...)
	if out.WarmUp, err = change.NewWarmUp(rs, opt.Coverage); err != nil {
		return nil, err
	}
	out.Cautions = changeCautions(out)
	return out, nil
}

// What is printed with every change.
const (
	cautionMeasures = "this measures; it finds no cause and prescribes nothing: a person qualified for it decides what is trained"
	cautionPain     = "never through pain: pain means stop"
)

// changeCautions are printed with every change.
func changeCautions(c *Change) []string {
	out := []string{cautionMeasures, cautionPain}
	for _, t := range c.Trends {
		var angles []float64
		if t.AskedDeg != nil {
			angles = append(angles, *t.AskedDeg)
		}
		for _, d := range t.Days {
			angles = append(angles, d.AngleDeg, d.IntervalDeg[1])
		}
		if reading.OverSplit(c.Measure, angles...) {
			return append(out, reading.OverSplitCaution)
		}
	}
	return out
}

// BesideTrend is the trend of an angle that was read beside the one asked for: of one leg, or of the trunk.
type BesideTrend struct {
	Leg   string        `json:"leg,omitempty"`
	Trend *change.Trend `json:"trend"`
}

// Name is what the angle is of: "the front leg, above level".
func (b *BesideTrend) Name() string { return reading.BesideName(b.Trend.Measure, b.Leg) }

// Words gives the angle on the last day and the change, on one line.
func (b *BesideTrend) Words() string {
	days := b.Trend.Days
	last := days[len(days)-1]
	return fmt.Sprintf("%s: %s, %s", b.Name(), desk.PlusMinus(last.AngleDeg, last.IntervalDeg[1]-last.AngleDeg), b.Trend.MovedBriefly())
}

// besideTrends are the trends of the angles read beside the readings of a trend.
func besideTrends(entries []*journal.Entry, t *change.Trend, rs []change.Reading, opt change.Options) ([]BesideTrend, error) {
	used := map[int64]bool{}
	for _, d := range t.Days {
		for _, id := range d.Readings {
			used[id] = true
		}
	}
	entryOf := map[int64]*journal.Entry{}
	for _, e := range entries {
		entryOf[e.ID] = e
	}
	type which struct{ measure, leg string }
	var order []which
	readings := map[which][]change.Reading{}
	for i := range rs {
		e := entryOf[rs[i].ID]
		if e == nil || !used[rs[i].ID] {
			continue
		}
		r, err := e.Parse()
		if err != nil {
			return nil, err
		}
		for k := range r.Beside {
			w := which{r.Beside[k].Measure, r.Beside[k].Leg}
			if readings[w] == nil {
				order = append(order, w)
			}
			readings[w] = append(readings[w], rs[i].Beside(&r.Beside[k]))
		}
	}
	var out []BesideTrend
	for _, w := range order {
		if len(readings[w]) < 2 {
			continue
		}
		trend, err := change.NewTrend(readings[w], change.Options{Coverage: opt.Coverage})
		if err != nil {
			return nil, err
		}
		if len(trend.Days) > 1 {
			out = append(out, BesideTrend{w.leg, trend})
		}
	}
	return out, nil
}
