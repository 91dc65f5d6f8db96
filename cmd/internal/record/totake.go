package record

import (
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/movement"
)

// ConditionTakes are the takes to make in one condition, athlete by athlete.
type ConditionTakes struct {
	Condition string         `json:"condition"`
	Athletes  []AthleteTakes `json:"athletes"` // in the order of the list
}

// AthleteTakes are the takes to make of an athlete in one condition.
type AthleteTakes struct {
	Athlete string      `json:"athlete"`
	Sides   []SideTakes `json:"sides"`
}

// SideTakes is how many takes to make of a side.
type SideTakes struct {
	Side  string `json:"side,omitempty"`
	Takes int    `json:"takes"`
}

// NotByTakes is an undecided question that more takes like the present ones would not decide.
type NotByTakes struct {
	Athlete  string `json:"athlete"`
	Side     string `json:"side,omitempty"`
	Question string `json:"question"` // a gap's name, or change.WhichLargest
}

// takePlan collects the takes that would complete or decide the screens of a squad.
type takePlan struct {
	today   string
	takes   map[string][]AthleteTakes // by condition
	notByIt []NotByTakes
	retake  bool // a screen of a past day is taken again
}

// add adds what a side of an athlete still needs. rows are its readings, s is its screen or nil.
func (p *takePlan) add(athlete, side string, rows []journal.Row, s *SideScreen) {
	var screen *change.Screen
	if s != nil {
		screen = s.Screen
		for _, q := range screen.OpenQuestions() {
			if q.Takes == 0 {
				p.notByIt = append(p.notByIt, NotByTakes{athlete, side, q.Gap})
			}
		}
		p.retake = p.retake || len(wantedTakes(screen)) > 0 && screen.Day.Format(time.DateOnly) != p.today
	}
	want := wantedToday(screen, p.today)
	for _, r := range rows {
		if r.Day == p.today && want[r.Condition] > 0 {
			want[r.Condition]--
		}
	}
	for condition, n := range want {
		if n == 0 {
			continue
		}
		if p.takes == nil {
			p.takes = map[string][]AthleteTakes{}
		}
		list := p.takes[condition]
		if k := len(list) - 1; k >= 0 && list[k].Athlete == athlete {
			list[k].Sides = append(list[k].Sides, SideTakes{side, n})
		} else {
			list = append(list, AthleteTakes{athlete, []SideTakes{{side, n}}})
		}
		p.takes[condition] = list
	}
}

// threeConditions are the conditions of a complete screen.
var threeConditions = []string{movement.Passive, movement.Active, movement.InSkill}

// wantedTakes is the number of takes that a screen should have in each condition in which it has too few;
// if it has none, the number on the protocol cards. s is nil if there is no screen.
func wantedTakes(s *change.Screen) map[string]int {
	have, want := levelTakes(s), map[string]int{}
	for _, c := range threeConditions {
		if have[c] == 0 {
			want[c] = movement.CardTakes
		}
	}
	if s == nil {
		return want
	}
	for _, q := range s.OpenQuestions() {
		if q.Takes > 0 {
			want[q.Condition] = max(want[q.Condition], have[q.Condition]+q.Takes)
		}
	}
	return want
}

// wantedToday is the number of takes of today that a screen should have in each condition. A screen of a
// past day that needs more is taken again in all its conditions, since a screen compares takes of one
// day.
func wantedToday(s *change.Screen, today string) map[string]int {
	want := wantedTakes(s)
	if s == nil || len(want) == 0 || s.Day.Format(time.DateOnly) == today {
		return want
	}
	for c, n := range levelTakes(s) {
		if slices.Contains(threeConditions, c) || want[c] > 0 {
			want[c] = max(want[c], n)
		}
	}
	return want
}

// levelTakes is the number of takes of a screen in each condition.
func levelTakes(s *change.Screen) map[string]int {
	have := map[string]int{}
	if s != nil {
		for _, l := range s.Levels {
			have[l.Condition] = l.Takes
		}
	}
	return have
}

// inHall returns the takes in the order that changes place and helper least: one condition of all athletes,
// both sides of each, then the next condition.
func (p *takePlan) inHall() []ConditionTakes {
	out := []ConditionTakes{}
	for _, c := range movement.InHall {
		if athletes := p.takes[c]; len(athletes) > 0 {
			out = append(out, ConditionTakes{c, athletes})
		}
	}
	return out
}

// Takes is the number of takes to make.
func (s *SquadScreen) Takes() (n int) {
	for _, c := range s.ToTake {
		for _, a := range c.Athletes {
			for _, side := range a.Sides {
				n += side.Takes
			}
		}
	}
	return n
}

// NotByTakesWords names, for each question, the athletes for whom more takes would not decide it.
func (s *SquadScreen) NotByTakesWords() (out []string) {
	for _, q := range []string{change.WhichLargest, change.Range, change.Control, change.Use, change.Swing} {
		var who []string
		for _, n := range s.NotByIt {
			if n.Question == q {
				who = append(who, desk.Spaced(n.Athlete, n.Side))
			}
		}
		if who != nil {
			out = append(out, change.MoreTakes{Gap: q}.Brief()+": "+strings.Join(who, ", "))
		}
	}
	return out
}
