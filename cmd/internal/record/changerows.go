package record

import (
	"context"
	"errors"
	"slices"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/text"
)

// goal looks up what is asked; a skill also sets the measure.
func (d *Record) goal(g Goal, measure *string) (deg *float64, atMost bool, err error) {
	if g.Deg != nil {
		if g.Skill != "" {
			return nil, false, twoAsked()
		}
		if !(*g.Deg >= 0 && *g.Deg <= 360) {
			return nil, false, noAngle(*g.Deg)
		}
		return g.Deg, movement.Less(*measure, ""), nil
	}
	if g.Skill == "" {
		return nil, false, nil
	}
	lib, err := d.Library()
	if err != nil {
		return nil, false, err
	}
	k, err := desk.FindSkill(lib, g.Skill)
	if err != nil {
		return nil, false, err
	}
	d.WarnRules(lib)
	if *measure != "" && *measure != k.Measure {
		return nil, false, otherMeasure(g.Skill, k.Measure, *measure)
	}
	*measure = k.Measure
	return &k.AskedDeg, k.AtMost, nil
}

// CheckConfidence returns an error unless the probability is between 0.5 and 1.
func CheckConfidence(p float64) error {
	if p > 0.5 && p < 1 {
		return nil
	}
	return noConfidence(p)
}

// rowsOf are the readings of one athlete that the filter lets through, one at
// least: who and what is not there is named, with what is.
func rowsOf(ctx context.Context, j *journal.Journal, f journal.Filter) ([]journal.Row, error) {
	f.Moments = true
	rows, err := j.List(ctx, f)
	if errors.Is(err, journal.ErrAbsent) {
		athletes, other := j.Athletes(ctx)
		if other != nil {
			return nil, other
		}
		var names []string
		for _, a := range athletes {
			names = append(names, a.Name)
		}
		return nil, noAthlete(f.Athlete, j.Path(), text.Nearest(f.Athlete, names), names)
	}
	if err != nil || len(rows) > 0 {
		return rows, err
	}
	all, err := j.List(ctx, journal.Filter{Athlete: f.Athlete})
	if err != nil {
		return nil, err
	}
	return nil, noneLike(all[0].Athlete, f, all)
}

// notAhead leaves out readings filed under a day in the future.
func notAhead(rows []journal.Row, today string, notes *[]string) ([]journal.Row, error) {
	if !slices.ContainsFunc(rows, func(r journal.Row) bool { return r.Day > today }) {
		return rows, nil
	}
	var past, ahead []journal.Row
	for _, r := range rows {
		if r.Day > today {
			ahead = append(ahead, r)
		} else {
			past = append(past, r)
		}
	}
	if len(past) == 0 {
		return nil, allAhead(ahead, today)
	}
	*notes = append(*notes, noteAhead(ahead, today))
	return past, nil
}

func oneMeasure(rows []journal.Row) (string, error) {
	measures := distinct(rows, func(r *journal.Row) string { return r.Measure })
	if len(measures) > 1 {
		return "", mixedMeasures(rows[0].Athlete, measures)
	}
	return measures[0], nil
}

// distinct are the values that rows have in something, in order.
func distinct(rows []journal.Row, of func(*journal.Row) string) (out []string) {
	for i := range rows {
		if v := of(&rows[i]); !slices.Contains(out, v) {
			out = append(out, v)
		}
	}
	slices.Sort(out)
	return out
}

// bySaidSide parts readings of several sides, each a trend of its own; those of
// which the side was not said are then named and left out. Else they stay together.
func bySaidSide(rs []change.Reading, notes *[]string) (groups [][]change.Reading) {
	bySide := map[string][]change.Reading{}
	for _, r := range rs {
		bySide[r.Side] = append(bySide[r.Side], r)
	}
	for _, side := range []string{"left", "right", "front", "back"} {
		if g := bySide[side]; g != nil {
			groups = append(groups, g)
		}
	}
	if len(groups) < 2 {
		return [][]change.Reading{rs}
	}
	if n := len(bySide[""]); n > 0 {
		*notes = append(*notes, noteNoSide(n))
	}
	return groups
}

func hasBothSides(rs []change.Reading) bool {
	is := func(side string) bool {
		return slices.ContainsFunc(rs, func(r change.Reading) bool { return r.Side == side })
	}
	return is("left") && is("right")
}

// staleDays is from when on it is worth a word that the last reading is old: with
// a reading a month, one was missed.
const staleDays = 60

// stale says how old the last reading is, and that a day which was to come is past.
func (c *Change) stale(t *change.Trend, now time.Time) {
	last := t.Days[len(t.Days)-1].Day
	today := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC)
	add := func(note string) {
		if !slices.Contains(c.Notes, note) {
			c.Notes = append(c.Notes, note)
		}
	}
	if n := int(today.Sub(last).Hours() / 24); n > staleDays {
		add(noteStale(last, n))
	}
	if t.NextDay != nil && !t.NextDay.After(today) {
		add(notePast(*t.NextDay))
	}
}

// betweenStates compares the first and the last day of all, where one of them was
// left out of the trend for its state.
func (c *Change) betweenStates(rs []change.Reading, coverage float64) {
	t := c.Trends[0]
	used := rs[slices.IndexFunc(rs, func(r change.Reading) bool { return r.ID == t.Days[0].Readings[0] })]
	var like []change.Reading
	for _, r := range rs {
		if r.Condition == used.Condition && r.Variant == used.Variant && r.Side == used.Side && r.Definition == used.Definition {
			like = append(like, r)
		}
	}
	first, last := like[0].Day, like[len(like)-1].Day
	if first.Equal(t.Days[0].Day) && last.Equal(t.Days[len(t.Days)-1].Day) {
		return
	}
	on := func(day time.Time) (out []change.Reading, states []string) {
		for _, r := range like {
			if r.Day.Equal(day) {
				out, states = append(out, r), append(states, r.State)
			}
		}
		slices.Sort(states)
		return out, slices.Compact(states)
	}
	from, were := on(first)
	to, are := on(last)
	if slices.Equal(were, are) {
		return
	}
	if d, err := change.Compare(from, to, coverage); err == nil {
		c.Unlike = &BetweenStates{first, last, d}
	}
}
