package change

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/movement"
)

// WhichLargest is the Gap of [MoreTakes] that would show which gap is the largest.
const WhichLargest = "largest"

// MoreTakes says how a gap that is not shown could be shown, or which gap is the largest: by how
// many more takes, in which condition, made like the last take there and on the same day.
type MoreTakes struct {
	Gap       string `json:"gap"`       // or WhichLargest
	Condition string `json:"condition"` // in which to make more takes
	Takes     int    `json:"takes"`     // how many more; 0: mostAgain takes like these do not show it
}

func (a MoreTakes) sentence() string {
	what := fmt.Sprintf("whether there is a %s gap", a.Gap)
	large, small := "it is as large as it looks", "it looks too small"
	if a.Gap == WhichLargest {
		what, large, small = "which gap is the largest", "they are as large as they look", "two look too alike"
	}
	if a.Takes == 0 {
		return fmt.Sprintf("%s like these would not show %s: %s for their error, part of which does not average out", plural(maxMoreTakes, "more take", "more takes"), what, small)
	}
	return fmt.Sprintf("%s: %s %s would tell, if %s", what, plural(a.Takes, "more take", "more takes"), a.Condition, large)
}

// Brief words it shortly: "2 more takes active (control)".
func (a MoreTakes) Brief() string {
	if a.Takes == 0 {
		return fmt.Sprintf("%s would not tell (%s)", plural(maxMoreTakes, "more take", "more takes"), a.Gap)
	}
	return fmt.Sprintf("%s %s (%s)", plural(a.Takes, "more take", "more takes"), a.Condition, a.Gap)
}

// OpenQuestions lists what this screen leaves undecided, with the takes that would decide it: if no gap
// is shown, every gap estimated above 0; if one is shown, which is the largest. The fewest takes come
// first, and what more takes cannot decide last.
func (s *Screen) OpenQuestions() []MoreTakes {
	var out []MoreTakes
	for _, a := range s.MoreTakes {
		if s.Outcome == OutcomeUndecided || s.Outcome == OutcomeShown && a.Gap == WhichLargest {
			out = append(out, a)
		}
	}
	slices.SortStableFunc(out, func(a, b MoreTakes) int { return a.order() - b.order() })
	return out
}

// OpenWords words each open question shortly; those that more takes cannot decide are one entry.
func (s *Screen) OpenWords() []string {
	var out, never []string
	for _, q := range s.OpenQuestions() {
		if q.Takes == 0 {
			never = append(never, q.Gap)
		} else {
			out = append(out, q.Brief())
		}
	}
	if len(never) > 0 {
		out = append(out, MoreTakes{Gap: strings.Join(never, ", ")}.Brief())
	}
	return out
}

// order is the number of takes, or maxMoreTakes + 1 if no number decides it.
func (a MoreTakes) order() int {
	if a.Takes == 0 {
		return maxMoreTakes + 1
	}
	return a.Takes
}

// maxMoreTakes is the largest number of further takes to suggest for one day.
const maxMoreTakes = 6

// suggestTakes finds, for each gap that is not shown, the condition in which the fewest
// further takes would show it if it is as large as estimated, and appends it to s.MoreTakes.
// Gaps at or below 0 get no suggestion. take is the variation from take to take.
func (s *Screen) suggestTakes(like []Reading, levels [][]int, take variation, coverage float64) {
	more := furtherTakes{like, levels, take, dayDeviation(like)}
	for _, g := range s.Gaps {
		if g.Shown || g.Deg <= 0 {
			continue
		}
		w := g.weights()
		deg := g.Deg - more.missed(w)
		best := MoreTakes{Gap: g.Name, Condition: g.To}
		for n := 1; n <= maxMoreTakes && best.Takes == 0; n++ {
			most := 0.0 // probability that the gap is above 0
			for _, c := range []string{g.From, g.To} {
				k := slices.Index(conditions, c)
				if k < 0 {
					continue // the angle asked
				}
				if p := more.spread(w, k, n).above(deg); p > most {
					most, best.Condition = p, c
				}
			}
			if most >= coverage {
				best.Takes = n
			}
		}
		s.MoreTakes = append(s.MoreTakes, best)
		s.Notes = append(s.Notes, best.sentence())
	}
	s.suggestForLargest(&more, coverage)
}

// suggestForLargest finds the condition in which the fewest further takes would show which gap is
// the largest, if all are as large as estimated, and appends it to s.MoreTakes. It does so where a gap
// is shown and three are known. The probability that one of the others is larger is at most the
// sum of the probabilities that each is, so that the number of takes may be one too many.
func (s *Screen) suggestForLargest(more *furtherTakes, coverage float64) {
	var gaps []Gap // on the way from what is asked to the skill
	shown := false
	for _, g := range s.Gaps {
		if g.LargestProbability != nil {
			gaps, shown = append(gaps, g), shown || g.Shown
		}
	}
	if s.Largest != "" || !shown {
		return
	}
	top := slices.MaxFunc(gaps, func(a, b Gap) int { return cmp.Compare(a.Deg, b.Deg) })
	best := MoreTakes{Gap: WhichLargest, Condition: top.To}
	for n := 1; n <= maxMoreTakes && best.Takes == 0; n++ {
		least := math.Inf(1)
		for k := range more.levels {
			if len(more.levels[k]) == 0 || conditions[k] == movement.Swung {
				continue
			}
			below := func(deg float64, w []float64) float64 { // the probability that a difference of deg is not above 0
				return 1 - more.spread(w, k, n).above(deg-more.missed(w))
			}
			larger := 0.0
			for _, other := range gaps {
				if other.Name != top.Name {
					larger += below(top.Deg-other.Deg, minus(top.weights(), other.weights()))
				}
			}
			if p := max(larger, below(top.Deg, top.weights())); p < least {
				least, best.Condition = p, conditions[k]
			}
		}
		if least <= 1-coverage {
			best.Takes = n
		}
	}
	s.MoreTakes = append(s.MoreTakes, best)
	s.Notes = append(s.Notes, best.sentence())
}

// weights are the levels' weights in the gap, in the order of conditions: 1 for From, -1 for To. The angle asked has no error and no weight.
func (g *Gap) weights() []float64 {
	w := make([]float64, len(conditions))
	if from := slices.Index(conditions, g.From); from >= 0 {
		w[from] = 1
	}
	w[slices.Index(conditions, g.To)]--
	return w
}

func minus(a, b []float64) []float64 {
	out := slices.Clone(a)
	for i := range b {
		out[i] -= b[i]
	}
	return out
}

// furtherTakes computes the errors with further takes, each like the last take in its condition.
type furtherTakes struct {
	like   []Reading
	levels [][]int
	take   variation // from take to take
	day    float64   // the standard deviation of a level whose day is not known, degrees
}

// missed is how much smaller the weighted sum of the levels may be, degrees, since single frames
// may have missed the widest moment. Further takes do not reduce it.
func (f *furtherTakes) missed(w []float64) (deg float64) {
	for k, wk := range w {
		if wk < 0 {
			_, most := missedMean(f.like, f.levels[k])
			deg -= wk * most
		}
	}
	return deg
}

// spread is the distribution about 0 of the error of the weighted sum of the levels after n further
// takes in condition more.
func (f *furtherTakes) spread(w []float64, more, n int) mixture {
	var rs []Reading
	var share []float64
	var times, days float64 // factor of the variance from take to take; variance from day to day, degrees^2
	for k, wk := range w {
		if wk == 0 {
			continue
		}
		takes := pick(f.like, f.levels[k])
		for range n {
			if k == more {
				takes = append(takes, takes[len(takes)-1])
			}
		}
		for _, r := range takes {
			rs, share = append(rs, r), append(share, wk/float64(len(takes)))
		}
		times += wk * wk / float64(len(takes))
		days += wk * wk * f.day * f.day
	}
	return f.take.with(newErrorModel(rs).variance(share)+days, times)
}
