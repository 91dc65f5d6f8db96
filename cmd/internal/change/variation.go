package change

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// variation is what is known of the standard deviation, degrees, by which an athlete's
// angle varies beyond the errors of reading: possible values with their weights, which
// add up to 1.
type variation []possible

type possible struct{ sd, weight float64 }

// Before the athlete's own readings are looked at, every standard deviation between a
// smallest and a largest one is equally likely (Gelman 2006, Bayesian Analysis 1:515,
// recommends a prior flat in the standard deviation; from memory).
//
// Published figures for movements of hip and shoulder, which contain the error of
// measuring as well: between sessions, standard errors of 1.3 to 2.5 (seven tests of
// the lower limb, Phys Ther Sport 2014, PMID 25280930, abstract seen), 3.4 (active
// shoulder flexion, computed from MDC90 8: Kolber 2011, Physiother Theory Pract
// 27:176), 5.4 to 6.5 (hip flexion after 7 days, computed from MDC95 15 to 18,
// preprint rs-9252188, abstract seen); between two trials of one session 2.2 to 2.6
// (straight leg raise, J Sport Rehabil 2015 24(4), PMID 25364856, abstract seen).
//
// The smallest is the smallest of these. The largest is a trade-off: it is set so that
// of athletes who vary by 5 degrees from day to day and do not change no more than 5.5
// in 100 are called changed, from two days to ten (the study "season" counts it).
// Sensitivity: between two single readings of standard uncertainty 3 the smallest real
// change is 16.9, 18.4 and 20.0 degrees for a largest of 8, 9 and 10; for a smallest of
// 0 it is 0.8 less. What the scatter of four days or more shows may be a little larger, by the
// same measure: with 9 degrees 5.8 in 100 athletes were called changed on four days (of 6000).
// Sensitivity, at 3 degrees from day to day and 10 rather than 9: a slope over four days is
// 5 % wider, over seven 1 %.
//
// The largest from take to take is half as much again as the largest published figure, 2.6,
// which contains the error of measuring. Sensitivity: between two single takes of one day,
// of standard uncertainty 2 each, the smallest real change is 7.4, 8.7 and 10.2 degrees for
// a largest of 3, 4 and 5.
const (
	leastDayDeg = 1.3
	mostDayDeg  = 9
	mostSeenDeg = 10
	mostTakeDeg = 4

	// warmUpDeg is the standard deviation that an unknown state adds: two readings of
	// which nobody says whether the athlete was warm may differ by a warm-up, some 5
	// degrees (common practice, no source), and half of that is its deviation.
	warmUpDeg = 2.5
)

// finest is how many values a standard deviation has; more of them change an interval
// by less than 2 %.
const finest = 24

// evenly are values from low to high, all equally likely.
func evenly(low, high float64) variation {
	v := make(variation, finest)
	for k := range v {
		v[k] = possible{sd: low + (high-low)*(float64(k)+0.5)/finest, weight: 1.0 / finest}
	}
	return v
}

// dayPrior is how much the angle varies from day to day, before a look at the days.
func dayPrior() variation { return evenly(leastDayDeg, mostDayDeg) }

// unsaidState is the variance, degrees^2, by which a reading may be off its like since
// nobody says in which state the athlete was.
func unsaidState(r *Reading) float64 {
	if known(r.State) == "" {
		return warmUpDeg * warmUpDeg
	}
	return 0
}

// given is what scatter tells of a standard deviation that lies in the range of v.
// asLarge(sd) is the probability of scatter as large as was seen, or larger, if sd is
// the true value; it grows with sd from 0 to 1 and is taken as the distribution of the
// standard deviation. An interval made with it holds as often as it says, whatever the
// true value is (the Q-profile method: Viechtbauer 2007, Stat Med 26:37; generalized
// intervals: Weerahandi 1993, J Am Stat Assoc 88:899; from memory). Where only the
// scatter is uncertain it makes Student's t. What lies below the range counts as its
// lower end, so that small scatter makes nothing surer than is stated, and what lies
// above it as its upper end.
func (v variation) given(asLarge func(sd float64) float64) variation {
	if len(v) == 1 {
		return v // it is known
	}
	step := v[1].sd - v[0].sd
	low, high := v[0].sd-step/2, v[len(v)-1].sd+step/2
	const negligible = 1e-3 // of the probability; it counts at the nearer end
	from, to := low, high
	for k := 1; k < finest; k++ {
		sd := low + (high-low)*float64(k)/finest
		p := asLarge(sd)
		if p < negligible {
			from = sd
		}
		if p > 1-negligible {
			to = math.Min(to, sd)
		}
	}
	out := evenly(from, to)
	below := 0.0
	for k := range out {
		p := 1.0
		if k < finest-1 {
			p = asLarge(from + (to-from)*float64(k+1)/finest)
		}
		out[k].weight = math.Max(0, p-below)
		below = math.Max(below, p)
	}
	out[finest-1].sd = to
	return out
}

// takeVariation is how much takes of one day vary: the prior with what the takes of the
// groups scatter beyond their own errors, whose mean variance is taken.
func takeVariation(rs []Reading, m *errorModel, groups [][]int) variation {
	prior := evenly(0, mostTakeDeg)
	squares, own, freedom := scatterWithin(rs, m, groups)
	if freedom == 0 {
		return prior
	}
	return prior.given(func(sd float64) float64 {
		return distuv.ChiSquared{K: freedom}.Survival(squares / (own + sd*sd))
	})
}

// scatterWithin is the sum of squares of the readings about the means of their groups,
// degrees^2, what one degree of freedom of it is by the readings' own errors, and the
// degrees of freedom.
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
			own += m.own[i] * (n - 1) / n
		}
		freedom += n - 1
	}
	if freedom > 0 {
		own /= freedom
	}
	return squares, own, freedom
}

// variance is the mean variance, degrees^2.
func (v variation) variance() (out float64) {
	for _, p := range v {
		out += p.weight * p.sd * p.sd
	}
	return out
}

// deg is the root of the mean variance.
func (v variation) deg() float64 { return math.Sqrt(v.variance()) }

// interval of the standard deviation.
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

// with is the distribution of a sum with the stated variance known, into which the
// variation goes so many times.
func (v variation) with(known, times float64) mixture {
	out := make(mixture, len(v))
	for k, p := range v {
		out[k] = normalPart{weight: p.weight, sd: math.Sqrt(known + times*p.sd*p.sd)}
	}
	return out
}

// mixture is a distribution as the sum of normal ones.
type mixture []normalPart

type normalPart struct{ weight, mean, sd float64 }

// half is the half-width of the interval about 0 that holds the coverage.
func (m mixture) half(coverage float64) float64 {
	holds := func(h float64) (p float64) {
		for _, n := range m {
			p += n.weight * (1 - (math.Erfc((h-n.mean)/n.sd/math.Sqrt2)+math.Erfc((h+n.mean)/n.sd/math.Sqrt2))/2)
		}
		return p
	}
	var high float64
	for _, n := range m {
		high = math.Max(high, math.Abs(n.mean)+normal(coverage)*n.sd)
	}
	low := 0.0
	const halvings = 40
	for range halvings {
		if h := (low + high) / 2; holds(h) < coverage {
			low = h
		} else {
			high = h
		}
	}
	return high
}

// sd is the standard deviation about 0.
func (m mixture) sd() float64 {
	var v float64
	for _, n := range m {
		v += n.weight * (n.mean*n.mean + n.sd*n.sd)
	}
	return math.Sqrt(v)
}
