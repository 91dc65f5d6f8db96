package geometry

import "math"

// Angle is an angle in radians.
//
// Construct one as 45 * Degree and read it with Degrees(). The two conversions are
// not exact inverses: (29 * Degree).Degrees() differs from 29 by one rounding.
// Multiples of 45 degrees up to a full turn come back exactly.
type Angle float64

// Units of an angle.
const (
	Radian Angle = 1
	Degree       = math.Pi / 180 * Radian
)

const (
	halfTurn Angle = math.Pi
	fullTurn Angle = 2 * math.Pi
)

// Degrees returns the angle in degrees.
func (a Angle) Degrees() float64 { return float64(a) * (180 / math.Pi) }

// Positive returns the congruent angle in [0, 2pi). A negative angle so small that
// adding a full turn rounds to a full turn gives 0. An infinite angle gives NaN.
func (a Angle) Positive() Angle {
	if a >= 0 && a < fullTurn {
		return a
	}
	r := Angle(math.Mod(float64(a), float64(fullTurn)))
	if r < 0 {
		r += fullTurn
	}
	if r >= fullTurn || r == 0 {
		return 0
	}
	return r
}

// Signed returns the congruent angle in (-pi, pi]. An infinite angle gives NaN.
func (a Angle) Signed() Angle {
	if a > -halfTurn && a <= halfTurn {
		return a
	}
	r := Angle(math.Remainder(float64(a), float64(fullTurn)))
	if r <= -halfTurn {
		return halfTurn
	}
	return r
}

// Near returns the angle congruent to a, modulo a full turn, that lies within pi
// of about. If two are equally near and a is one of them, it returns a.
func (a Angle) Near(about Angle) Angle {
	d := about - a
	if d >= -halfTurn && d <= halfTurn {
		return a
	}
	return a + fullTurn*Angle(math.Round(float64(d/fullTurn)))
}

// Range is the interval, one full turn long, in which a measure's angles lie. A
// range that starts at 0 is [Low, High); every other is (Low, High].
type Range struct{ Low, High Angle }

// The ranges that measures use.
var (
	fromZero  = Range{0, 360 * Degree}             // through a stated side
	aboutZero = Range{-180 * Degree, 180 * Degree} // signed, straight or level is 0
	openLegs  = Range{-90 * Degree, 270 * Degree}  // crossed legs below 0, over-splits above 180
)

// Contains reports whether a lies in the range.
func (r Range) Contains(a Angle) bool {
	if r.Low == 0 {
		return a >= r.Low && a < r.High
	}
	return a > r.Low && a <= r.High
}

// Wrap returns the angle congruent to a that lies in the range; NaN stays NaN.
func (r Range) Wrap(a Angle) Angle {
	if r.Contains(a) {
		return a
	}
	w := a.Near((r.Low + r.High) / 2)
	switch {
	case r.Contains(w) || w != w:
		return w
	case r.Low == 0: // w is the high end, or one rounding below the low one
		return r.Low
	default: // w is the low end, or one rounding past the high one
		return r.High
	}
}
