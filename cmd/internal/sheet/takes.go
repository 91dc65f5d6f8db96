package sheet

import (
	"fmt"
	"io"
	"time"
)

// TakesInput are takes to make, to be ticked in the hall.
type TakesInput struct {
	Title, List string
	Day         time.Time
	Conditions  []TakesOf
	Notes       []string
	Cautions    []string
}

// TakesOf are the takes of one condition.
type TakesOf struct {
	Condition string
	Athletes  []TakesOfAthlete
}

// TakesOfAthlete are the takes of one athlete in one condition.
type TakesOfAthlete struct {
	Athlete string
	Sides   []TakesOfSide
}

// TakesOfSide is how many takes there are to make of a side.
type TakesOfSide struct {
	Side  string
	Takes int
}

// Boxes has an entry for each take, for the template.
func (t TakesOfSide) Boxes() []struct{} { return make([]struct{}, t.Takes) }

type takesPage struct {
	W          *takesWords
	Conditions []TakesOf
	Notes      []string
	Cares      []string
}

// WriteTakes writes a list of takes with boxes to tick, one condition after the other.
func WriteTakes(w io.Writer, in TakesInput, opt Options) error {
	s, who, err := coachSetting(opt)
	if err != nil {
		return err
	}
	if who != Coach {
		return problem("make it for coach", "there is no list of takes for %q", string(who))
	}
	n := 0
	for _, c := range in.Conditions {
		for _, a := range c.Athletes {
			for _, side := range a.Sides {
				n += side.Takes
			}
		}
	}
	if n == 0 {
		return problem("see the screens: 'ecart sheet screens LIST'", "no take is missing, and no further take would tell more")
	}
	t := &s.kind().takes
	p := takesPage{W: t, Conditions: in.Conditions}
	for _, note := range in.Notes {
		p.Notes = append(p.Notes, s.sentence(note))
	}
	for _, c := range in.Cautions {
		p.Cares = append(p.Cares, s.sentence(c))
	}
	count := t.one
	if n > 1 {
		count = fmt.Sprintf(t.count, n)
	}
	return s.page(w, "takes", in.Title, t.title, []string{in.List, s.dateOf(in.Day), count}, p)
}
