package cli

import (
	"fmt"
	"slices"
	"time"

	"ecart/cmd/internal/change"
)

// someDay stands for the day of rows of which nobody says it: those of one list are
// screened together, with what an athlete varies by from day to day.
var someDay = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// asChange is a row's reading as package change compares it; its number is the line.
func (r *squadReading) asChange() change.Reading {
	c := change.FromReading(r.Reading)
	c.ID, c.Session, c.Side, c.State, c.Condition = int64(r.Line), r.Session, r.Side, r.State, r.Condition
	c.Rater, c.Setup = r.Rater, r.Setup
	c.Day, c.AnyDay = someDay, true
	if d, err := time.Parse(time.DateOnly, r.Day); err == nil {
		c.Day, c.AnyDay = d, false
	}
	return c
}

// screen works out the gaps of each measure, side and day of which there are two
// conditions.
func (a *squadAthlete) screen(confidence float64, seed uint64, notes *[]string) {
	type group struct{ measure, side, day, session string }
	rows := map[group][]change.Reading{}
	var order []group
	for i := range a.Readings {
		r := &a.Readings[i]
		g := group{r.Reading.Measure, r.Side, r.Day, r.Session}
		if rows[g] == nil {
			order = append(order, g)
		}
		rows[g] = append(rows[g], r.asChange())
	}
	for _, g := range order {
		if conditionsOf(rows[g]) < fewestConditions {
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
		a.Screens = append(a.Screens, squadScreen{g.side, g.day, s})
	}
}

const noteNoDay = "of rows without a day it is not known whether they are of one day: their gaps allow for how much athletes vary from day to day"

// gap is the one that is the largest with the probability a decision takes, "" where
// that is not known.
func (a *squadAthlete) gap(r *squadReading) string {
	for _, s := range a.Screens {
		if s.Measure == r.Reading.Measure && s.Side == r.Side && s.Day == r.Day {
			return s.Largest
		}
	}
	return ""
}
