package session

import (
	"fmt"
	"slices"
	"time"

	"ecart/cmd/internal/change"
)

// Screen is the screen of one athlete's measure, side, day and session.
type Screen struct {
	Side    string `json:"side,omitempty"`
	Day     string `json:"day,omitempty"`     // "" is unknown: such rows of a list are screened together
	Session string `json:"session,omitempty"` // distinguishes sessions of one day
	*change.Screen
}

// someDay is a placeholder: package change needs a day. Rows of a list whose day is unknown are
// screened together, allowing for the athlete's variation from day to day.
var someDay = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// asChange returns the reading in the form of package change, with the line as its ID.
func (r *Reading) asChange() change.Reading {
	c := change.FromReading(r.Reading)
	c.ID, c.Session, c.Side, c.State, c.Condition = int64(r.Line), r.Session, r.Side, r.State, r.Condition
	c.Variant = r.Variant
	c.Rater, c.Setup = r.Rater, r.Setup
	c.Day, c.AnyDay = someDay, true
	if d, err := time.Parse(time.DateOnly, r.Day); err == nil {
		c.Day, c.AnyDay = d, false
	}
	return c
}

// screen computes the gaps for each measure, side, day and session in which the athlete
// was read in two conditions or more.
func (a *Athlete) screen(confidence float64, seed uint64, notes *[]string) {
	type group struct{ measure, variant, side, day, session string }
	rows := map[group][]change.Reading{}
	var order []group
	for i := range a.Readings {
		r := &a.Readings[i]
		g := group{r.Reading.Measure, r.Variant, r.Side, r.Day, r.Session}
		if rows[g] == nil {
			order = append(order, g)
		}
		rows[g] = append(rows[g], r.asChange())
	}
	for _, g := range order {
		if change.Conditions(rows[g]) < change.FewestConditions {
			continue
		}
		s, err := change.NewScreen(rows[g], change.ScreenOptions{Coverage: confidence, Seed: seed})
		if err != nil {
			*notes = append(*notes, fmt.Sprintf("%s: the gaps are not known: %v", a.Athlete, err))
			continue
		}
		if g.day == "" && !slices.Contains(*notes, noteNoDay) {
			*notes = append(*notes, noteNoDay)
		}
		a.Screens = append(a.Screens, Screen{g.side, g.day, g.session, s})
	}
}

const noteNoDay = "of rows without a day it is not known whether they are of one day: their gaps allow for how much athletes vary from day to day"

// Gap returns the largest gap in the reading's screen (range, control or use) if it is the
// largest with the probability needed for a decision, else "".
func (a *Athlete) Gap(r *Reading) string {
	for _, s := range a.Screens {
		if s.Measure == r.Reading.Measure && s.Variant == r.Variant && s.Side == r.Side && s.Day == r.Day && s.Session == r.Session {
			return s.Largest
		}
	}
	return ""
}

// LargestGaps maps each gap to the athletes for whom it is the largest, as far as that is
// decided.
func (r *Report) LargestGaps() map[string][]string {
	who := map[string][]string{}
	for i := range r.Athletes {
		name := r.Athletes[i].Athlete
		for _, s := range r.Athletes[i].Screens {
			if s.Largest != "" && !slices.Contains(who[s.Largest], name) {
				who[s.Largest] = append(who[s.Largest], name)
			}
		}
	}
	return who
}
