package record

import (
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/sheet"
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

// NotByTakes is an undecided question that more takes like those there are would not tell.
type NotByTakes struct {
	Athlete  string `json:"athlete"`
	Side     string `json:"side,omitempty"`
	Question string `json:"question"` // a gap's name, or change.WhichLargest
}

// takePlan gathers which takes would complete the screens of a squad, or decide them.
type takePlan struct {
	today   string
	takes   map[string][]AthleteTakes // by condition
	notByIt []NotByTakes
	anew    bool // a screen of a past day is taken again
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
		p.anew = p.anew || len(wantedTakes(screen)) > 0 && screen.Day.Format(time.DateOnly) != p.today
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
		of := p.takes[condition]
		if k := len(of) - 1; k >= 0 && of[k].Athlete == athlete {
			of[k].Sides = append(of[k].Sides, SideTakes{side, n})
		} else {
			of = append(of, AthleteTakes{athlete, []SideTakes{{side, n}}})
		}
		p.takes[condition] = of
	}
}

// threeConditions are those that a whole screen has.
var threeConditions = []string{movement.Passive, movement.Active, movement.InSkill}

// wantedTakes is how many takes a screen should have in each condition in which it has too few; as
// many as the protocol cards name where it has none. nil is no screen.
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

// wantedToday is how many takes of today a screen should have in each condition. Where the screen
// is of a past day and is to have more, all its conditions are taken again, since a screen compares
// takes of one day.
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

// levelTakes is how many takes a screen has in each condition.
func levelTakes(s *change.Screen) map[string]int {
	have := map[string]int{}
	if s != nil {
		for _, l := range s.Levels {
			have[l.Condition] = l.Takes
		}
	}
	return have
}

// inHall are the takes in the order that costs least in the hall: one condition, with its place and
// its helper, of all athletes, each with both sides, and then the next.
func (p *takePlan) inHall() []ConditionTakes {
	out := []ConditionTakes{}
	for _, c := range movement.InHall {
		if of := p.takes[c]; len(of) > 0 {
			out = append(out, ConditionTakes{c, of})
		}
	}
	return out
}

// Takes is how many takes there are to make.
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

// NotByTakesWords say of each question of whom more takes would not tell.
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

// ScreensPage returns the data of the page of a squad's screens.
func ScreensPage(r *SquadScreen) sheet.ScreensInput {
	in := sheet.ScreensInput{Title: r.Title, List: r.List, Notes: r.Notes, Cautions: r.Cautions}
	for i := range r.Screens {
		in.Screens = append(in.Screens, sheet.AthleteScreen{Athlete: r.Screens[i].Athlete, Side: r.Screens[i].Side, Screen: r.Screens[i].Screen})
	}
	for _, w := range r.Without {
		in.Without = append(in.Without, Sided(w.Athlete, w.Side)+": "+w.Why)
	}
	return in
}

// TakesPage returns the data of the page of the takes to make.
func TakesPage(r *SquadScreen) sheet.TakesInput {
	in := sheet.TakesInput{Title: r.Title, List: r.List, Notes: slices.Concat(r.NotByTakesWords(), r.Notes), Cautions: r.Cautions}
	in.Day, _ = time.Parse(time.DateOnly, r.Today)
	for _, c := range r.ToTake {
		of := sheet.TakesOf{Condition: c.Condition}
		for _, a := range c.Athletes {
			one := sheet.TakesOfAthlete{Athlete: a.Athlete}
			for _, s := range a.Sides {
				one.Sides = append(one.Sides, sheet.TakesOfSide(s))
			}
			of.Athletes = append(of.Athletes, one)
		}
		in.Conditions = append(in.Conditions, of)
	}
	return in
}
