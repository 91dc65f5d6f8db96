package quiz

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Lean is the side to which answers fall.
type Lean string

// The four that there are.
const (
	Stricter Lean = "stricter"
	Milder   Lean = "milder"
	Neither  Lean = "neither" // by no more than chance
	TooFew   Lean = "too few" // answers to tell
)

// fewest is from how many answers on a side is named: of fewer, a scatter that
// happens to be small says little about the next answer.
const fewest = 5

// confidence that a lean takes.
const confidence = 0.95

// Lean says whether the answers are stricter or milder by more than chance: whether 0
// lies outside the interval of Student's t for their mean, at 95 %.
func (b Bias) Lean() Lean {
	if b.Count < fewest || b.StandardError == nil {
		return TooFew
	}
	t := distuv.StudentsT{Sigma: 1, Nu: float64(b.Count - 1)}.Quantile((1 + confidence) / 2)
	switch {
	case math.Abs(b.StricterBands) <= t**b.StandardError || b.StricterBands == 0:
		return Neither
	case b.StricterBands > 0:
		return Stricter
	}
	return Milder
}

// Hits is how many answers give to no band more than to the one that the reading
// holds for the likeliest: what people count first, though it is no proper score.
func (s *Score) Hits() (n int) {
	for _, q := range s.Questions {
		if q.Belief[q.Likeliest[0]-'a'] == slices.Max(q.Belief) {
			n++
		}
	}
	return n
}
