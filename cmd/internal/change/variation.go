package change

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// variation is the distribution of the standard deviation, degrees, by which an athlete's
// angle varies beyond the errors of reading: possible values with weights that add up
// to 1.
type variation []possible

type possible struct{ sd, weight float64 }

// The prior is uniform: before the athlete's own readings, every standard deviation between
// a smallest and a largest one is equally likely (Gelman 2006, Bayesian Analysis 1:515,
// recommends a prior flat in the standard deviation; from memory).
//
// Published figures for movements of hip and shoulder, which include the measurement
// error: between sessions, standard errors of 1.3 to 2.5 (seven tests of
// the lower limb, Phys Ther Sport 2014, PMID 25280930, abstract seen), 3.4 (active
// shoulder flexion, computed from MDC90 8: Kolber 2011, Physiother Theory Pract
// 27:176), 5.4 to 6.5 (hip flexion after 7 days, computed from MDC95 15 to 18,
// preprint rs-9252188, abstract seen); between two trials of one session 2.2 to 2.6
// (straight leg raise, J Sport Rehabil 2015 24(4), PMID 25364856, abstract seen).
//
// The smallest is the smallest of these. The largest is a trade-off: it is set so that
// of athletes who vary by 5 degrees from day to day and do not change, no more than 5.5 in
// 100 are called changed, with two to ten days (counted by the study "season").
// Sensitivity: between two single readings of standard uncertainty 3 the smallest real
// change is 16.9, 18.4 and 20.0 degrees for a largest of 8, 9 and 10; for a smallest of
// 0 it is 0.8 less. With four days or more, whose scatter is evidence, the largest is
// 10 degrees by the same criterion: with 9 degrees, 5.8 in 100 athletes were called changed
// on four days (of 6000).
// Sensitivity, at 3 degrees from day to day and 10 rather than 9: a slope over four days is
// 5 % wider, over seven 1 %.
//
// The largest from take to take is half as much again as the largest published figure, 2.6,
// which includes the measurement error. Sensitivity: between two single takes of one day,
// of standard uncertainty 2 each, the smallest real change is 7.4, 8.7 and 10.2 degrees for
// a largest of 3, 4 and 5.
const (
	leastDayDeg = 1.3
	mostDayDeg  = 9
	mostSeenDeg = 10
	mostTakeDeg = 4

	// warmUpDeg is the standard deviation that an unknown state adds: two readings without
	// a stated state may differ by a warm-up, about 5 degrees (common practice, no source);
	// half of that is the standard deviation.
	warmUpDeg = 2.5
)

// variationSteps is the number of values in a variation; more change an interval by less than 2 %.
const variationSteps = 24

// uniform returns the uniform distribution from low to high, degrees.
func uniform(low, high float64) variation {
	v := make(variation, variationSteps)
	for k := range v {
		v[k] = possible{sd: low + (high-low)*(float64(k)+0.5)/variationSteps, weight: 1.0 / variationSteps}
	}
	return v
}

// dayPrior is the prior of the variation from day to day.
func dayPrior() variation { return uniform(leastDayDeg, mostDayDeg) }

// unsaidState is the variance, degrees^2, to add to a reading if the athlete's state is not
// stated.
func unsaidState(r *Reading) float64 {
	if known(r.State) == "" {
		return warmUpDeg * warmUpDeg
	}
	return 0
}

// given updates a uniform prior v with observed scatter. asLarge(sd) is the probability of
// at least the observed scatter if sd is the true standard deviation; it grows with sd from
// 0 to 1 and is used as the distribution function of the standard deviation. An interval
// made with it has its stated coverage for every true value (the Q-profile method: Viechtbauer 2007, Stat Med 26:37; generalized
// intervals: Weerahandi 1993, J Am Stat Assoc 88:899; from memory). If only the
// scatter is uncertain, the result is Student's t. Probability below the range of v is put
// at its lower end, so that small scatter does not reduce an uncertainty below the stated
// one, and probability above the range at its upper end.
func (v variation) given(asLarge func(sd float64) float64) variation {
	if len(v) == 1 {
		return v // a known value
	}
	step := v[1].sd - v[0].sd
	low, high := v[0].sd-step/2, v[len(v)-1].sd+step/2
	const negligible = 1e-3 // probability that is put at the nearer end of the range
	from, to := low, high
	for k := 1; k < variationSteps; k++ {
		sd := low + (high-low)*float64(k)/variationSteps
		p := asLarge(sd)
		if p < negligible {
			from = sd
		}
		if p > 1-negligible {
			to = math.Min(to, sd)
		}
	}
	out := uniform(from, to)
	below := 0.0
	for k := range out {
		p := 1.0
		if k < variationSteps-1 {
			p = asLarge(from + (to-from)*float64(k+1)/variationSteps)
		}
		out[k].weight = math.Max(0, p-below)
		below = math.Max(below, p)
	}
	out[variationSteps-1].sd = to
	return out
}

// takeVariation is the variation from take to take within a day: the prior, updated with the
// scatter of each group's takes beyond their own errors (their mean variance). Where they
// scatter by more than the prior's largest, it goes up to that from day to day.
func takeVariation(rs []Reading, m *errorModel, groups [][]int) variation {
	prior := uniform(0, mostTakeDeg)
	squares, own, freedom := scatterWithin(rs, m, groups)
	if freedom == 0 {
		return prior
	}
	if squares/freedom-own > mostTakeDeg*mostTakeDeg {
		prior = uniform(0, mostSeenDeg)
	}
	return prior.given(func(sd float64) float64 {
		return distuv.ChiSquared{K: freedom}.Survival(squares / (own + sd*sd))
	})
}

// scatterWithin returns the sum of squares of the readings about the means of their groups,
// degrees^2; the part of one degree of freedom that the readings' own errors explain,
// degrees^2; and the degrees of freedom. An error that may be common to the takes explains no
// scatter: what is not known makes the variation no smaller.
func scatterWithin(rs []Reading, m *errorModel, groups [][]int) (squares, own, freedom float64) {
	for _, members := range groups {
		if len(members) < 2 {
			continue
		}
		n := float64(len(members))
		var mean float64
		for _, i := range members {
			mean += rs[i].AngleDeg / n
		}
		for _, i := range members {
			d := rs[i].AngleDeg - mean
			squares += d * d
			own += m.least[i] * (n - 1) / n
		}
		freedom += n - 1
	}
	if freedom > 0 {
		own /= freedom
	}
	return squares, own, freedom
}

// draw is the quantile of the standard deviation, degrees, at probability p.
func (v variation) draw(p float64) float64 {
	for _, x := range v {
		if p -= x.weight; p < 0 {
			return x.sd
		}
	}
	return v[len(v)-1].sd
}

// variance is the mean of sd^2, degrees^2.
func (v variation) variance() (out float64) {
	for _, p := range v {
		out += p.weight * p.sd * p.sd
	}
	return out
}

// deg is the root of the mean of sd^2, degrees.
func (v variation) deg() float64 { return math.Sqrt(v.variance()) }

// interval is the interval of the standard deviation, degrees.
func (v variation) interval(coverage float64) [2]float64 {
	half := 0.0 // of the step between two values
	if len(v) > 1 {
		half = (v[1].sd - v[0].sd) / 2
	}
	end := v[0].sd + half*float64(2*len(v)-1)
	at := func(p, side float64) float64 {
		var sum float64
		for _, x := range v {
			if sum += x.weight; sum >= p {
				return math.Min(x.sd+side*half, end)
			}
		}
		return end
	}
	return [2]float64{at((1-coverage)/2, -1), at((1+coverage)/2, 1)}
}

// with is the distribution, centred on 0, of an error with the variance known plus times the variance
// of v.
func (v variation) with(known, times float64) mixture {
	out := make(mixture, len(v))
	for k, p := range v {
		out[k] = normalPart{weight: p.weight, sd: math.Sqrt(known + times*p.sd*p.sd)}
	}
	return out
}

// mixture is a weighted mixture of normal distributions.
type mixture []normalPart

type normalPart struct{ weight, mean, sd float64 }

// half is the half-width of the interval about 0 that contains the coverage.
func (m mixture) half(coverage float64) float64 {
	var high float64
	for _, n := range m {
		high = math.Max(high, math.Abs(n.mean)+normal(coverage)*n.sd)
	}
	low := 0.0
	const halvings = 40
	for range halvings {
		if h := (low + high) / 2; 1-m.outside(h) < coverage {
			low = h
		} else {
			high = h
		}
	}
	return high
}

// outside is the probability outside of -h to h.
func (m mixture) outside(h float64) (p float64) {
	for _, n := range m {
		p += n.weight * (math.Erfc((h-n.mean)/n.sd/math.Sqrt2) + math.Erfc((h+n.mean)/n.sd/math.Sqrt2)) / 2
	}
	return p
}

// above is the probability that x plus the error is above 0.
func (m mixture) above(x float64) (p float64) {
	for _, n := range m {
		p += n.weight * 0.5 * math.Erfc(-(x+n.mean)/n.sd/math.Sqrt2)
	}
	return p
}

// sd is the root mean square about 0.
func (m mixture) sd() float64 {
	var v float64
	for _, n := range m {
		v += n.weight * (n.mean*n.mean + n.sd*n.sd)
	}
	return math.Sqrt(v)
}
