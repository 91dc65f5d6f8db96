package sheet

import (
	"math"

	"ecart/cmd/internal/reading"
)

// decisive is how small the standard uncertainty would have to be for the most
// probable outcome to have the probability that a decision takes, were the angle the
// same and normal about it; false where it has that, or where no uncertainty would do.
func (s *setting) decisive(r *reading.Reading) (name string, standard float64, ok bool) {
	v := r.Verdict
	if v == nil || r.Skill == nil || !(r.StandardUncertaintyDeg > 0) {
		return "", 0, false
	}
	o := r.Likely()[0]
	m := v.ShortfallDeg
	if o.Probability >= v.Confidence || r.TellsNothing() || m <= o.FromDeg || m >= o.ToDeg {
		return "", 0, false
	}
	inside := func(u float64) float64 {
		cdf := func(x float64) float64 { return 0.5 * math.Erfc(-(x-m)/(u*math.Sqrt2)) }
		return cdf(o.ToDeg) - cdf(o.FromDeg)
	}
	// inside falls as u grows, from 1 on
	lo, hi := 0.0, 2*r.StandardUncertaintyDeg
	for range 60 {
		if mid := (lo + hi) / 2; inside(mid) >= v.Confidence {
			lo = mid
		} else {
			hi = mid
		}
	}
	const least = 1e-3 // degrees: nobody measures to that, and the angle is on a limit
	if lo < least || lo >= r.StandardUncertaintyDeg {
		return "", 0, false
	}
	return o.Words, lo, true
}
