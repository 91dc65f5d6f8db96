package draw

import (
	"fmt"
	"math"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
)

// Problem is a [fault.Error] that says why a drawing cannot be made, and what to do.
func Problem(do, format string, args ...any) error {
	return fault.New(fmt.Sprintf(format, args...), do)
}

// ReadAgain is the hint for a reading with impossible numbers.
const ReadAgain = "read the frame again; nothing is drawn from numbers that are not known"

const (
	// largestAngle bounds every angle, in degrees: two full turns.
	largestAngle = 720

	// mostBands is the largest number of bands drawn; no rule book has more.
	mostBands = 40
)

// Finite reports whether all vs are finite.
func Finite(vs ...float64) bool {
	for _, v := range vs {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// Angles reports whether all vs are angles that can be drawn: at most two full turns in
// either direction, in degrees.
func Angles(vs ...float64) bool {
	for _, v := range vs {
		if !(math.Abs(v) <= largestAngle) {
			return false
		}
	}
	return true
}

// CheckDensity returns an error for a density that cannot be drawn. A density without
// values is accepted.
func CheckDensity(d reading.Density) error {
	if len(d.Values) == 0 {
		return nil
	}
	if !Angles(d.FromDeg) || !(d.StepDeg > 0 && d.StepDeg*float64(len(d.Values)) <= 2*largestAngle) {
		return Problem(ReadAgain, "the reading's density starts at %g in steps of %g, which cannot be drawn", d.FromDeg, d.StepDeg)
	}
	for i, v := range d.Values {
		if !(v >= 0) || math.IsInf(v, 0) {
			return Problem(ReadAgain, "the reading's density has no value at %g", d.FromDeg+(float64(i)+0.5)*d.StepDeg)
		}
	}
	return nil
}

// CheckVerdict returns an error for a verdict on s whose bands cannot be drawn. If unknown
// is true, probabilities may be NaN.
func CheckVerdict(s reading.SkillRef, v reading.Verdict, unknown bool) error {
	probability := func(p float64) bool { return p >= 0 && p <= 1 || unknown && math.IsNaN(p) }
	if !Angles(s.ThresholdDeg, v.ShortfallDeg) {
		return Problem("check the rule book", "skill %q asks %g degrees, which is not an angle", s.Name, s.ThresholdDeg)
	}
	if !probability(v.MeetsProbability) {
		return Problem(ReadAgain, "the probability of meeting skill %q is given as %g", s.Name, v.MeetsProbability)
	}
	if len(v.Bands) > mostBands {
		return Problem("check the rule book", "skill %q has %d bands; at most %d can be drawn", s.Name, len(v.Bands), mostBands)
	}
	for i, b := range v.Bands {
		if !probability(b.Probability) {
			return Problem(ReadAgain, "the probability of band %q is given as %g", b.Label, b.Probability)
		}
		if !Angles(b.FromDeg) || b.ToDeg != nil && !(Angles(*b.ToDeg) && *b.ToDeg > b.FromDeg) {
			return Problem("check the rule book", "band %q of skill %q has no extent in degrees", b.Label, s.Name)
		}
		if i > 0 && b.FromDeg < v.Bands[i-1].FromDeg {
			return Problem("check the rule book", "band %q of skill %q stands before the one it follows", b.Label, s.Name)
		}
	}
	return nil
}
