package geometry_test

import (
	"math"
	"testing"

	"ecart/geometry"
)

// FuzzBind binds any measure with any options to marks anywhere, at NaN and infinity as
// well: either the angle lies in the measure's range, or the error has a fact and a hint.
func FuzzBind(f *testing.F) {
	f.Add(uint8(0), uint64(0x1f), "", "", "right", 0.0, 1.0, 2.0, 3.0, 4.0, 5.0)
	f.Add(uint8(1), uint64(math.MaxUint64), "thigh", "left", "up", math.NaN(), 1.0, math.Inf(1), 3.0, -4.0, 1e-320)
	f.Add(uint8(2), uint64(math.MaxUint64), "", "", "camera", 1e308, -1e308, 1e-308, 0.0, 0.0, 0.0)
	f.Add(uint8(9), uint64(0xffff0000), "whole", "back", "", 1.0, 1.0, 1.0, 1.0, 1.0, 1.0)
	names, measures := geometry.Landmarks(), geometry.Measures()
	f.Fuzz(func(t *testing.T, which uint8, marked uint64, leg, side, facing string, a, b, c, d, e, g float64) {
		m := measures[int(which)%len(measures)]
		numbers := []float64{a, b, c, d, e, g, a + b, c * d, e - g}
		at := map[string]geometry.Point{}
		for i, name := range names {
			if marked>>i&1 == 1 {
				at[name] = geometry.Point{X: numbers[i%len(numbers)], Y: numbers[(i*i+i/3)%len(numbers)]}
			}
		}
		bound, err := m.Bind(at, geometry.Options{Leg: geometry.Leg(leg), Side: geometry.Side(side), Facing: geometry.Facing(facing)})
		for _, p := range append(geometry.Proportions(), geometry.LegsApart()) {
			if b, err := p.Lines.Bind(at, geometry.Options{}); err == nil && !(b.LengthRatio(points(&b, at)) > 0) {
				t.Fatalf("%s is not positive although its lines were bound", p.Name)
			}
		}
		if err != nil {
			if err.Error() == "" || hint(err) == "" {
				t.Fatalf("%s: an error without fact or hint: %q, %q", m.Name, err, hint(err))
			}
			return
		}
		pts := points(&bound, at)
		angle := bound.Angle(pts)
		if !m.Range.Contains(angle) {
			t.Fatalf("%s: %v is out of its range", m.Name, angle.Degrees())
		}
		if m.Magnitude && angle < 0 {
			t.Fatalf("%s: a magnitude of %v", m.Name, angle.Degrees())
		}
		grad := make([]geometry.Vec, len(pts))
		bound.Partials(pts, grad)
		for _, v := range grad {
			if math.IsNaN(v.X-v.X) || math.IsNaN(v.Y-v.Y) {
				t.Fatalf("%s: partials %v at %v", m.Name, grad, pts)
			}
		}
	})
}
