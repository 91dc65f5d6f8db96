package cli

import (
	"fmt"
	"slices"
	"strings"

	"ecart/cmd/internal/reading"
)

// squadStand is an athlete under one of the three decisions: so many of the takes
// say so, and in which condition they are where it is not the skill's.
type squadStand struct {
	Athlete   string `json:"athlete"`
	Measure   string `json:"measure"`
	Side      string `json:"side,omitempty"`
	Condition string `json:"condition,omitempty"`
	Takes     int    `json:"takes"`
	Of        int    `json:"of"`
}

func (s squadStand) String() string {
	var said []string
	if s.Side != "" {
		said = append(said, s.Side)
	}
	if s.Condition == "passive" || s.Condition == "active" {
		said = append(said, s.Condition)
	}
	if s.Takes < s.Of {
		said = append(said, fmt.Sprintf("%d of %d", s.Takes, s.Of))
	}
	if len(said) == 0 {
		return s.Athlete
	}
	return s.Athlete + " (" + strings.Join(said, ", ") + ")"
}

// nearest orders conditions by how near they are to the skill; one that was not
// said is most likely the skill itself.
var nearest = []string{"passive", "active", "", "in-skill"}

// count says which readings count against what is asked: of each measure and side
// those in the condition that is nearest to the skill.
func (a *squadAthlete) count() {
	best := map[string]int{}
	of := func(r *squadReading) (string, int) {
		return r.Reading.Measure + " " + r.Side, slices.Index(nearest, r.Condition)
	}
	for i := range a.Readings {
		k, n := of(&a.Readings[i])
		best[k] = max(best[k], n)
	}
	for i := range a.Readings {
		k, n := of(&a.Readings[i])
		a.Readings[i].Counts = n == best[k]
	}
}

// sort puts the athlete under what the readings decide, of each measure and side.
// Where takes do not agree it stands under each.
func (r *squadReport) sort(a *squadAthlete) {
	type group struct{ measure, side string }
	takes := map[group]map[reading.Decision]int{}
	condition := map[group]string{}
	var order []group
	for i := range a.Readings {
		one := &a.Readings[i]
		if one.Reading.Verdict == nil || !one.Counts {
			continue
		}
		g := group{one.Reading.Measure, one.Side}
		if takes[g] == nil {
			takes[g] = map[reading.Decision]int{}
			order = append(order, g)
		}
		takes[g][one.Reading.Verdict.Decision]++
		condition[g] = one.Condition
	}
	for _, g := range order {
		of := 0
		for _, n := range takes[g] {
			of += n
		}
		for d, to := range map[reading.Decision]*[]squadStand{reading.Short: &r.Short, reading.Meets: &r.Meets, reading.Undecided: &r.Undecided} {
			if n := takes[g][d]; n > 0 {
				*to = append(*to, squadStand{a.Athlete, g.measure, g.side, condition[g], n, of})
			}
		}
	}
}

// gatherNotes says each thing that readings have assumed once, with those of whom
// it was.
func (r *squadReport) gatherNotes() {
	who := map[string][]string{}
	rows := map[string]int{}
	var order []string
	for i := range r.Athletes {
		for _, one := range r.Athletes[i].Readings {
			for _, n := range slices.Concat(one.Notes, one.Reading.BentWords(), one.Reading.Notes) {
				if rows[n] == 0 {
					order = append(order, n)
				}
				if rows[n]++; !slices.Contains(who[n], r.Athletes[i].Athlete) {
					who[n] = append(who[n], r.Athletes[i].Athlete)
				}
			}
		}
	}
	for _, n := range order {
		if rows[n] < r.Read || r.Read == 1 {
			n = someOf(who[n]) + ": " + n
		}
		r.Notes = append(r.Notes, n)
	}
}

// someOf names a few of many.
func someOf(who []string) string {
	const most = 4
	if len(who) <= most {
		return strings.Join(who, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(who[:most-1], ", "), len(who)-most+1)
}

// cautions are those of a screen where there is one, else the readings' chief ones.
func (r *squadReport) cautions() (out []string) {
	add := func(cs []string) {
		for _, c := range cs {
			if !slices.Contains(out, c) {
				out = append(out, c)
			}
		}
	}
	out = []string{}
	for i := range r.Athletes {
		for _, s := range r.Athletes[i].Screens {
			add(s.Cautions)
		}
	}
	if len(out) > 0 {
		return out
	}
	for i := range r.Athletes {
		for _, one := range r.Athletes[i].Readings {
			add(one.Reading.ChiefCautions())
		}
	}
	return out
}
