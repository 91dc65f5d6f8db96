package uncertainty

import "math"

// Probability is the share of draws v with low < f(v) <= high, f nil being
// the draw itself: JCGM 106:2008, 7.2, with the distribution as drawn. Either
// end may be infinite.
func (d Distribution) Probability(low, high float64, f func(float64) float64) float64 {
	n := 0
	for _, v := range d.Values {
		if f != nil {
			v = f(v)
		}
		if v > low && v <= high {
			n++
		}
	}
	return float64(n) / float64(len(d.Values))
}

// Decision under the guarded rule of JCGM 106:2008, 8.3: a statement is made
// where its probability is at least the confidence asked for.
type Decision int

// The decisions.
const (
	Undecided Decision = iota
	Conforms
	Fails
)

// Decide compares the probability of conformity with the confidence, which
// lies in (0.5, 1).
func Decide(probability, confidence float64) Decision {
	switch {
	case probability >= confidence:
		return Conforms
	case 1-probability >= confidence:
		return Fails
	}
	return Undecided
}

// NeededStandard is how small the standard uncertainty would have to be for a
// decision at the given distance from the limit, were the output normal: the
// limit then lies z standard uncertainties away, z the one-sided quantile.
func NeededStandard(distance, confidence float64) float64 {
	return math.Abs(distance) / normalQuantile(confidence)
}
