package record

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
)

func twoAsked() error {
	return fault.New(fault.Option("asked")+" and "+fault.Option("skill")+" both say what is asked", "give one of them")
}

func noAngle(deg float64) error {
	return fault.New(fmt.Sprintf(fault.Option("asked")+" %g is no angle from 0 to 360 degrees", deg), "a split asks for 180")
}

func otherMeasure(skill, its, given string) error {
	return fault.New(fmt.Sprintf("the skill %q is of the measure %q, and %q is asked for", skill, its, given), "name a skill of that measure; 'ecart rules' lists them")
}

func noConfidence(p float64) error {
	return fault.New(fmt.Sprintf(fault.Option("confidence")+" %g is not between 0.5 and 1", p), "0.95 is usual")
}

func noAthlete(name, path, near string, names []string) error {
	const most = 12
	hint := "nobody is in it yet: 'ecart read TAKE --keep " + "ATHLETE' keeps a reading"
	if len(names) > 0 {
		hint = "in it are " + strings.Join(names[:min(most, len(names))], ", ")
		if len(names) > most {
			hint += fmt.Sprintf(" and %d more: 'ecart journal list' shows them", len(names)-most)
		}
	}
	if near != "" {
		hint = fmt.Sprintf("did you mean %q? %s", near, hint)
	}
	return fault.New(fmt.Sprintf("there is no athlete %q in the journal %q", name, path), hint)
}

// noneLike returns an error that lists what exists if nothing of the kind asked for does.
func noneLike(athlete string, f journal.Filter, all []journal.Row) error {
	var asked, there []string
	for _, c := range []struct {
		value, what string
		of          func(*journal.Row) string
	}{
		{f.Measure, "of %s", func(r *journal.Row) string { return r.Measure }},
		{f.Side, "of the side %s", func(r *journal.Row) string { return r.Side }},
		{f.State, "in the state %s", func(r *journal.Row) string { return r.State }},
		{f.Condition, "with the condition %s", func(r *journal.Row) string { return r.Condition }},
		{f.Variant, "in the position %s", func(r *journal.Row) string { return r.Variant }},
	} {
		if c.value != "" {
			asked = append(asked, fmt.Sprintf(c.what, c.value))
			there = append(there, distinct(all, c.of)...)
		}
	}
	if f.From != "" {
		asked = append(asked, "from "+f.From+" on")
	}
	if f.To != "" {
		asked = append(asked, "up to "+f.To)
	}
	there = slices.DeleteFunc(there, func(s string) bool { return s == "" })
	hint := fmt.Sprintf("%s from %s to %s are there", desk.Count(len(all), "reading"), all[0].Day, all[len(all)-1].Day)
	if len(there) > 0 {
		hint += ": " + strings.Join(there, ", ")
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
