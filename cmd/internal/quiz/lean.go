package quiz

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Lean is the direction of a trainee's bias.
type Lean string

// The four results.
const (
	Stricter Lean = "stricter"
	Milder   Lean = "milder"
	Neither  Lean = "neither" // the bias is within chance
	TooFew   Lean = "too few" // not enough answers to decide
)

// fewest is the number of answers from which a direction is given: with fewer, a scatter
// that happens to be small says little about further answers.
const fewest = 5

// confidence required to name a direction.
const confidence = 0.95

// Lean decides whether the answers are stricter or milder by more than chance: whether 0
// lies outside the 95 % interval (Student's t) of their mean.
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

// Hits counts the answers that give no band a higher probability than the reading's most
// probable one. It is not a proper score, but the count that people ask for.
func (s *Score) Hits() (n int) {
	for _, q := range s.Questions {
		if q.Belief[q.Likeliest[0]-'a'] == slices.Max(q.Belief) {
			n++
		}
	}
	return n
}
