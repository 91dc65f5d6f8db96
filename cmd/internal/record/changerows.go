package record

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
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
	if k.Ratio != "" {
		return nil, false, noAngleAsked(g.Skill)
	}
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

// rowsOf returns the readings of one athlete that match the filter, one at least. If there are none, the
// error names what is missing, and what there is.
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

// distinct returns the distinct values of rows, sorted.
func distinct(rows []journal.Row, value func(*journal.Row) string) (out []string) {
	for i := range rows {
		if v := value(&rows[i]); !slices.Contains(out, v) {
			out = append(out, v)
		}
	}
	slices.Sort(out)
	return out
}

// bySaidSide groups readings of several sides, one trend each; those without a side are then left out
// with a note. Other readings stay one group.
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

// staleDays is the age of the last reading, days, above which a note says so: with a reading a month, one
// was missed.
const staleDays = 60

// noteAge notes that the last reading is old, and that the trend's next day is past.
func (c *Change) noteAge(t *change.Trend, now time.Time) {
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

func twoAsked() error {
	return fault.New(fault.Option("asked")+" and "+fault.Option("skill")+" both say what is asked", "give one of them")
}

func noAngle(deg float64) error {
	return fault.New(fmt.Sprintf(fault.Option("asked")+" %g is no angle from 0 to 360 degrees", deg), "a split asks for 180")
}

func otherMeasure(skill, its, given string) error {
	return fault.New(fmt.Sprintf("the skill %q is of the measure %q, and %q is asked for", skill, its, given), "name a skill of that measure; "+fault.Operation("list the skills")+" lists them")
}

func noAngleAsked(skill string) error {
	return fault.New(fmt.Sprintf("the skill %q judges shoulder widths and asks for no angle", skill), "name a skill that asks for an angle; "+fault.Operation("list the skills")+" lists them")
}

func noConfidence(p float64) error {
	return fault.New(fmt.Sprintf(fault.Option("confidence")+" %g is not between 0.5 and 1", p), "0.95 is usual")
}

func noAthlete(name, path, near string, names []string) error {
	const most = 12
	hint := "nobody is in it yet: " + fault.Operation("keep a reading") + " keeps a reading"
	if len(names) > 0 {
		hint = "in it are " + strings.Join(names[:min(most, len(names))], ", ")
		if len(names) > most {
			hint += fmt.Sprintf(" and %d more: %s shows them", len(names)-most, fault.Operation("list the readings"))
		}
	}
	if near != "" {
		hint = fmt.Sprintf("did you mean %q? %s", near, hint)
	}
	return fault.New(fmt.Sprintf("there is no athlete %q in the journal %q", name, path), hint)
}

// noneLike returns an error that lists what exists if nothing of the kind asked for does.
func noneLike(athlete string, f journal.Filter, all []journal.Row) error {
	var asked, existing []string
	for _, c := range []struct {
		value, what string
		of          func(*journal.Row) string // its value in a row
	}{
		{f.Measure, "of %s", func(r *journal.Row) string { return r.Measure }},
		{f.Side, "of the side %s", func(r *journal.Row) string { return r.Side }},
		{f.State, "in the state %s", func(r *journal.Row) string { return r.State }},
		{f.Condition, "with the condition %s", func(r *journal.Row) string { return r.Condition }},
		{f.Variant, "in the position %s", func(r *journal.Row) string { return r.Variant }},
	} {
		if c.value != "" {
			asked = append(asked, fmt.Sprintf(c.what, c.value))
			existing = append(existing, distinct(all, c.of)...)
		}
	}
	if f.From != "" {
		asked = append(asked, "from "+f.From+" on")
	}
	if f.To != "" {
		asked = append(asked, "up to "+f.To)
	}
	existing = slices.DeleteFunc(existing, func(s string) bool { return s == "" })
	hint := fmt.Sprintf("%s from %s to %s are there", desk.Count(len(all), "reading"), all[0].Day, all[len(all)-1].Day)
	if len(existing) > 0 {
		hint += ": " + strings.Join(existing, ", ")
	}
	return fault.New(fmt.Sprintf("%q has no reading %s", athlete, strings.Join(asked, ", ")), hint)
}

func allAhead(ahead []journal.Row, today string) error {
	return fault.New(fmt.Sprintf("reading %d and all others are filed under days ahead of today, %s: %s", ahead[0].ID, today, ahead[0].Day),
		"set this machine's clock, or file them under the days on which the takes were made")
}

func mixedMeasures(athlete string, measures []string) error {
	return fault.New(fmt.Sprintf("%q has readings of %d measures, %s", athlete, len(measures), strings.Join(measures, ", ")),
		"name one with "+fault.Option("measure")+", such as "+fault.Option("measure")+" "+measures[0])
}

func noteAhead(ahead []journal.Row, today string) string {
	return fmt.Sprintf("%s filed under a day ahead of today, %s, left out (reading %d, %s): set this machine's clock, or file it under its day",
		desk.Count(len(ahead), "reading"), today, ahead[0].ID, ahead[0].Day)
}

func noteNoSide(n int) string {
	return desk.Count(n, "reading") + " of which the side was not said, left out"
}

func noteStale(last time.Time, days int) string {
	return fmt.Sprintf("the last reading is of %s, %d days ago: what came after it is not known", desk.DateWords(last), days)
}

func notePast(day time.Time) string {
	return fmt.Sprintf("%s is past: the next reading could show it", desk.DateWords(day))
}
