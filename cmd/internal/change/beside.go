package change

import "ecart/cmd/internal/reading"

// Beside is the reading of an angle that was read beside r from the same marks, filed as r is. What a
// single frame may have missed of the widest moment is that of r: no angle beside it is known to be at
// its own widest.
func (r *Reading) Beside(b *reading.Beside) Reading {
	out := *r
	out.Measure, out.Definition = b.Measure, b.Measure+" "+b.Leg
	out.AngleDeg, out.StandardDeg, out.Sources = b.AngleDeg, b.StandardUncertaintyDeg, b.Sources
	out.AskedDeg, out.AtMost, out.Density = nil, false, reading.Density{}
	return out
}
