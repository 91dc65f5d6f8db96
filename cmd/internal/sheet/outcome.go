package sheet

import (
	"cmp"
	"math"
	"slices"

	"ecart/cmd/internal/reading"
)

// outcome is a band, or meeting what is asked: over so many degrees short, up to so
// many.
type outcome struct {
	name     string
	p        float64
	from, to float64
}

// outcomes are the bands and meeting what is asked, the most probable first.
func (s *setting) outcomes(r *reading.Reading) []outcome {
	v, meets := r.Verdict, s.words.judge.meet
	if r.Skill.AtMost {
		meets = s.words.judge.meetOff
	}
	out := []outcome{{meets, v.MeetsProbability, math.Inf(-1), freeDeg(v)}}
	for _, b := range v.Bands {
		to := math.Inf(1)
		if b.ToDeg != nil {
			to = *b.ToDeg
		}
		out = append(out, outcome{"“" + bandName(b) + "”", b.Probability, b.FromDeg, to})
	}
	slices.SortStableFunc(out, func(a, b outcome) int { return cmp.Compare(b.p, a.p) })
	return out
}

// decisive is how small the standard uncertainty would have to be for the most
// probable outcome to have the probability that a decision takes, were the angle the
// same and normal about it; false where it has that, or where no uncertainty would do.
func (s *setting) decisive(r *reading.Reading) (name string, standard float64, ok bool) {
	v := r.Verdict
	if v == nil || r.Skill == nil || !(r.StandardUncertaintyDeg > 0) {
		return "", 0, false
	}
	o := s.outcomes(r)[0]
	m := v.ShortfallDeg
	if o.p >= v.Confidence || m <= o.from || m >= o.to {
		return "", 0, false
	}
	inside := func(u float64) float64 {
		cdf := func(x float64) float64 { return 0.5 * math.Erfc(-(x-m)/(u*math.Sqrt2)) }
		return cdf(o.to) - cdf(o.from)
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
	return o.name, lo, true
}
