package change

import (
	"fmt"
	"slices"
	"strings"

	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/text"
	"ecart/geometry/uncertainty"
)

// finish sets the notes, the sentence, what to look at and the cautions.
func (s *Screen) finish(like []Reading, levels [][]int, coverage float64) {
	if note := MissedNote(like, "gaps to the skill allow for it"); note != "" {
		s.Notes = slices.Insert(s.Notes, 0, note)
	}
	single := false
	for k, members := range levels {
		if len(members) == 0 && conditions[k] != movement.Swung {
			s.Notes = append(s.Notes, fmt.Sprintf("no reading is %s: the gaps about it are not known", conditions[k]))
		}
		single = single || len(members) == 1
	}
	if single {
		s.Notes = append(s.Notes, "where there is one take in a condition, how much takes vary is not known from them: the intervals allow for what others vary")
	}
	states := values(byState, like)
	if len(states) > 1 {
		s.Notes = append(s.Notes, "the readings are in unlike states ("+text.And(states)+"); range differs by it, so that a gap may be the warm-up's")
	}
	if m, ok := movement.Find(s.Movement); ok && m.Note != "" {
		s.Notes = append(s.Notes, m.Note)
	}
	s.passiveSplit(coverage)
	s.Outcome = s.outcome(coverage)
	s.Sentence = s.say(coverage)
	s.LooksAt = looksAt(s)
	s.Cautions = cautions(s.Measure)
}

func (s *Screen) say(coverage float64) string {
	format := func(g *Gap) string {
		v, u := uncertainty.Format(g.Deg, (g.IntervalDeg[1]-g.IntervalDeg[0])/2)
		return fmt.Sprintf("%s° ± %s°", v, u)
	}
	if s.Missing.To == "in-skill" && s.Missing.noneProbability >= coverage {
		return fmt.Sprintf("nothing is missing: the skill shows what is asked, %g° (%s sure)", s.AskedDeg, reading.Percent(s.Missing.noneProbability))
	}
	out := fmt.Sprintf("%s of %g° are missing", format(&s.Missing), s.AskedDeg)
	if s.AtMost {
		out = fmt.Sprintf("%s more than the %g° that are asked at most", format(&s.Missing), s.AskedDeg)
	}
	if s.Missing.To != "in-skill" {
		out += " " + s.Missing.To
	}
	var shown, unshown []string
	onWay := 0 // shown gaps that are part of what is missing
	for _, g := range s.byProbability() {
		if g.Shown {
			if g.Name != Swing {
				onWay++
			}
			shown = append(shown, fmt.Sprintf("%s %s (%s)", g.Name, format(g), reading.Percent(g.RealProbability)))
		} else {
			unshown = append(unshown, fmt.Sprintf("%s %s (%s)", g.Name, format(g), reading.Percent(g.RealProbability)))
		}
	}
	parts := []string{out}
	if len(shown) > 0 {
		parts = append(parts, "shown: "+text.And(shown))
	}
	if len(unshown) > 0 {
		parts = append(parts, "not shown: "+text.And(unshown))
	}
	swing := slices.ContainsFunc(s.Gaps, func(g Gap) bool { return g.Name == Swing })
	if len(shown) > 1 {
		switch {
		case s.Largest != "" && swing: // which does not take part
			parts = append(parts, "of what is missing the largest part is "+s.Largest)
		case s.Largest != "":
			parts = append(parts, "the largest is "+s.Largest)
		case onWay > 1:
			parts = append(parts, "which is the largest is not decided")
		}
	}
	return strings.Join(parts, "; ")
}

// byProbability lists the gaps, the most likely to be the largest first.
func (s *Screen) byProbability() []*Gap {
	var out []*Gap
	for i := range s.Gaps {
		out = append(out, &s.Gaps[i])
	}
	slices.SortStableFunc(out, func(a, b *Gap) int {
		x, y := a.Deg, b.Deg
		if a.LargestProbability != nil {
			x, y = *a.LargestProbability, *b.LargestProbability
		}
		switch {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return out
}
