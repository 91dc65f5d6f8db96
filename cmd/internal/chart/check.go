package chart

import (
	"math"

	"ecart/cmd/internal/reading"
)

// mostBands is more than any rule book has.
const mostBands = 40

const readAgain = "read the frame again; nothing is drawn from numbers that are not known"

// checkReading refuses what cannot be drawn. An interval that is not known can.
func checkReading(r *reading.Reading) error {
	if r == nil {
		return problem("read a frame first", "there is no reading to draw")
	}
	if !angles(r.AngleDeg) {
		return problem(readAgain, "the reading's angle (%g) is not an angle in degrees", r.AngleDeg)
	}
	d := r.Density
	if len(d.Values) > 0 {
		if !angles(d.FromDeg) || !(d.StepDeg > 0 && d.StepDeg*float64(len(d.Values)) <= 2*largestAngle) {
			return problem(readAgain, "the reading's density starts at %g in steps of %g, which cannot be drawn", d.FromDeg, d.StepDeg)
		}
		for i, v := range d.Values {
			if !(v >= 0) || math.IsInf(v, 0) {
				return problem(readAgain, "the reading's density has no value at %g", d.FromDeg+(float64(i)+0.5)*d.StepDeg)
			}
		}
	}
	if r.Skill != nil && r.Verdict != nil {
		return checkVerdict(*r.Skill, *r.Verdict)
	}
	return nil
}

func checkVerdict(s reading.SkillRef, v reading.Verdict) error {
	if !angles(s.ThresholdDeg, v.ShortfallDeg) {
		return problem("check the rule book", "skill %q asks %g degrees, which is not an angle", s.Name, s.ThresholdDeg)
	}
	if !probability(v.MeetsProbability) {
		return problem(readAgain, "the probability of meeting skill %q is given as %g", s.Name, v.MeetsProbability)
	}
	if len(v.Bands) > mostBands {
		return problem("check the rule book", "skill %q has %d bands; at most %d can be drawn", s.Name, len(v.Bands), mostBands)
	}
	for i, b := range v.Bands {
		if !probability(b.Probability) {
			return problem(readAgain, "the probability of band %q is given as %g", b.Label, b.Probability)
		}
		if !angles(b.FromDeg) || b.ToDeg != nil && !(angles(*b.ToDeg) && *b.ToDeg > b.FromDeg) {
			return problem("check the rule book", "band %q of skill %q has no extent in degrees", b.Label, s.Name)
		}
		if i > 0 && b.FromDeg < v.Bands[i-1].FromDeg {
			return problem("check the rule book", "band %q of skill %q stands before the one it follows", b.Label, s.Name)
		}
	}
	return nil
}

// probability reports whether p is one, or not known.
func probability(p float64) bool { return math.IsNaN(p) || p >= 0 && p <= 1 }
