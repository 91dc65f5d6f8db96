package change

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"ecart/geometry/uncertainty"
)

// effects are the estimates of one quantity in several athletes, of which each has a true
// value of its own: value i is normal about the mean with the variance v[i] plus the
// variance between athletes. The errors of different athletes are independent; what they
// may share is not in v and is added to the result (see pooled).
type effects struct {
	y []float64 // degrees
	v []float64 // degrees^2
}

// mean is the mean weighted by the inverse of the variances, for a variance between
// athletes, with the variance of that mean and the weighted sum of squares about it.
func (e effects) mean(between float64) (mean, variance, q float64) {
	var sum float64
	for i, y := range e.y {
		w := 1 / (e.v[i] + between)
		sum += w
		mean += w * y
	}
	mean /= sum
	for i, y := range e.y {
		q += (y - mean) * (y - mean) / (e.v[i] + between)
	}
	return mean, 1 / sum, q
}

// weights are those of the mean; they add up to 1.
func (e effects) weights(between float64) []float64 {
	_, variance, _ := e.mean(between)
	out := make([]float64, len(e.v))
	for i, v := range e.v {
		out[i] = variance / (v + between)
	}
	return out
}

// betweenAt is the variance between athletes at which the weighted sum of squares has the
// value q, degrees^2; 0 if the sum is smaller than that without any. The sum falls as the
// variance grows.
func (e effects) betweenAt(q float64) float64 {
	above := func(between float64) bool {
		_, _, got := e.mean(between)
		return got > q
	}
	if !above(0) {
		return 0
	}
	low, high := 0.0, 1.0
	for above(high) {
		low, high = high, 2*high
	}
	const halvings = 60
	for range halvings {
		if mid := (low + high) / 2; above(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

// between is the variance between athletes by the method of Paule and Mandel 1982 (J Res
// Natl Bur Stand 87:377; from memory): the weighted sum of squares equals its expectation.
func (e effects) between() float64 { return e.betweenAt(float64(len(e.y) - 1)) }

// betweenInterval is its interval by the Q profile (Viechtbauer 2007, Stat Med 26:37; from
// memory): the variances at which the weighted sum of squares is within its chi-squared
// limits.
func (e effects) betweenInterval(coverage float64) [2]float64 {
	d := distuv.ChiSquared{K: float64(len(e.y) - 1)}
	return [2]float64{e.betweenAt(d.Quantile((1 + coverage) / 2)), e.betweenAt(d.Quantile((1 - coverage) / 2))}
}

// spread is the standard uncertainty of the mean by Knapp and Hartung with the half-width
// of its interval by Student's t. It is never less than that from the variances alone,
// which a small sum of squares would else make it: the modification of Röver, Knapp and
// Friede 2015 (BMC Med Res Methodol 15:99).
func (e effects) spread(between, coverage float64) (sd, half float64) {
	_, variance, q := e.mean(between)
	freedom := float64(len(e.y) - 1)
	sd = math.Sqrt(variance * math.Max(1, q/freedom))
	return sd, sd * uncertainty.CoverageFactor(freedom, coverage)
}
