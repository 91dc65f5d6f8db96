package sheet

import (
	"math"

	"ecart/cmd/internal/reading"
)

// decisive returns the largest standard uncertainty, in degrees, at which the most probable
// outcome would have the probability needed for a decision, if the angle were the same and
// normally distributed. It reports false if the outcome is already decided, or if no
// uncertainty would be small enough.
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
	// inside decreases from 1 as u grows
	lo, hi := 0.0, 2*r.StandardUncertaintyDeg
	for range 60 {
		if mid := (lo + hi) / 2; inside(mid) >= v.Confidence {
			lo = mid
		} else {
			hi = mid
		}
	}
	const least = 1e-3 // degrees: not achievable; the angle is then on a limit
	if lo < least || lo >= r.StandardUncertaintyDeg {
		return "", 0, false
	}
	return o.Words, lo, true
}
