package uncertainty

import "math"

// Probability returns the share of draws v with low < f(v) <= high; a nil f is the
// identity. It is the probability of JCGM 106:2012, 7.2, for the drawn distribution.
// Either limit may be infinite.
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

// Decision is a decision by the guarded rule of JCGM 106:2012, 8.3: a statement is made
// if its probability is at least the required confidence.
type Decision int

// The decisions.
const (
	Undecided Decision = iota
	Conforms
	Fails
)

// Decide compares the probability of conformity with the required confidence, in
// (0.5, 1).
func Decide(probability, confidence float64) Decision {
	switch {
	case probability >= confidence:
		return Conforms
	case 1-probability >= confidence:
		return Fails
	}
	return Undecided
}

// NeededStandard returns the largest standard uncertainty that allows a decision at the
// given distance from the limit, for a normal output: distance / z, with z the
// one-sided normal quantile of the confidence.
func NeededStandard(distance, confidence float64) float64 {
	return math.Abs(distance) / normalQuantile(confidence)
}
