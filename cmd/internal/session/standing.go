package session

import (
	"fmt"
	"slices"
	"strings"

	"ecart/cmd/internal/reading"
)

// Standing is an athlete under one of the three decisions, for one measure, position and side. Takes
// is the number of takes with that decision, and Of the number of takes that count.
type Standing struct {
	Athlete   string `json:"athlete"`
	Measure   string `json:"measure"`
	Side      string `json:"side,omitempty"`
	Variant   string `json:"variant,omitempty"`
	Condition string `json:"condition,omitempty"`
	Takes     int    `json:"takes"`
	Of        int    `json:"of"`
}

// String returns the athlete, in brackets with the side, a condition that is not the
// skill's, and the number of takes with the decision if they are not all.
func (s Standing) String() string {
	var more []string
	if s.Variant != "" {
		more = append(more, s.Variant)
	}
	if s.Side != "" {
		more = append(more, s.Side)
	}
	if s.Condition == "passive" || s.Condition == "active" || s.Condition == "swung" {
		more = append(more, s.Condition)
	}
	if s.Takes < s.Of {
		more = append(more, fmt.Sprintf("%d of %d", s.Takes, s.Of))
	}
	if len(more) == 0 {
		return s.Athlete
	}
	return s.Athlete + " (" + strings.Join(more, ", ") + ")"
}

// nearest orders conditions from the farthest from the skill to the nearest. A condition
// that is not stated is most likely the skill itself.
var nearest = []string{"passive", "active", "swung", "", "in-skill"}

// markCounting marks the readings that count for the decision: for each measure and side those in
// the condition nearest to the skill.
func (a *Athlete) markCounting() {
	best := map[string]int{}
	groupOf := func(r *Reading) (string, int) {
		return r.Reading.Measure + " " + r.Variant + " " + r.Side, slices.Index(nearest, r.Condition)
	}
	for i := range a.Readings {
		k, n := groupOf(&a.Readings[i])
		best[k] = max(best[k], n)
	}
	for i := range a.Readings {
		k, n := groupOf(&a.Readings[i])
		a.Readings[i].Counts = n == best[k]
	}
}

// addStandings adds the athlete to the lists of decisions, for each measure and side. If takes
// disagree, the athlete is in the list of each of their decisions.
func (r *Report) addStandings(a *Athlete) {
	type group struct{ measure, variant, side string }
	takes := map[group]map[reading.Decision]int{}
	condition := map[group]string{}
	var order []group
	for i := range a.Readings {
		one := &a.Readings[i]
		if one.Reading.Verdict == nil || !one.Counts {
			continue
		}
		g := group{one.Reading.Measure, one.Variant, one.Side}
		if takes[g] == nil {
			takes[g] = map[reading.Decision]int{}
			order = append(order, g)
		}
		takes[g][one.Reading.Verdict.Decision]++
		condition[g] = one.Condition
	}
	for _, g := range order {
		counted := 0
		for _, n := range takes[g] {
			counted += n
		}
		for d, to := range map[reading.Decision]*[]Standing{reading.Short: &r.Short, reading.Meets: &r.Meets, reading.Undecided: &r.Undecided} {
			if n := takes[g][d]; n > 0 {
				*to = append(*to, Standing{a.Athlete, g.measure, g.side, g.variant, condition[g], n, counted})
			}
		}
	}
}

// gatherNotes collects the readings' notes, each once. A note that does not apply to all rows
// names its athletes.
func (r *Report) gatherNotes() {
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

// someOf lists at most four names. Of more it lists three and the number of the others.
func someOf(who []string) string {
	const most = 4
	if len(who) <= most {
		return strings.Join(who, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(who[:most-1], ", "), len(who)-most+1)
}

// cautions returns the cautions of the screens, or the chief ones of the readings if there
// are none.
func (r *Report) cautions() (out []string) {
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

// Advice says what would decide the undecided readings of some athletes.
type Advice struct {
	Athletes []string
	Text     string
}

// Advice returns the first advice of each reading that counts and is undecided, with one
// entry for all athletes with the same advice.
func (r *Report) Advice() (out []Advice) {
	for i := range r.Athletes {
		for _, one := range r.Athletes[i].Readings {
			v := one.Reading.Verdict
			if v == nil || v.Decision != reading.Undecided || !one.Counts || len(one.Reading.Advice) == 0 {
				continue
			}
			k := slices.IndexFunc(out, func(a Advice) bool { return a.Text == one.Reading.Advice[0] })
			if k < 0 {
				k, out = len(out), append(out, Advice{Text: one.Reading.Advice[0]})
			}
			if !slices.Contains(out[k].Athletes, r.Athletes[i].Athlete) {
				out[k].Athletes = append(out[k].Athletes, r.Athletes[i].Athlete)
			}
		}
	}
	return out
}
