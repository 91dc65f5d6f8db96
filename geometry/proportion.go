package geometry

import "strings"

// Proportion is the length of one line of the body as a part of another's, both between
// landmarks of one frame: [Bound.LengthRatio] of Lines, which are bound as a measure is. Their
// angle means nothing.
type Proportion struct {
	Name, Part, Whole string // "arm-to-leg", "arm", "leg"
	Lines             Measure
}

// Proportions lists the proportions of limbs and trunk.
func Proportions() []Proportion {
	var out []Proportion
	for _, p := range []struct {
		part, whole string
		lines       [2]span
	}{
		{"arm", "leg", [2]span{{"shoulder", "wrist", false}, {"hip", "ankle", false}}},
		{"arm", "trunk", [2]span{{"shoulder", "wrist", false}, {"hip", "shoulder", false}}},
		{"trunk", "leg", [2]span{{"hip", "shoulder", false}, {"hip", "ankle", false}}},
		{"thigh", "leg", [2]span{{"hip", "knee", false}, {"hip", "ankle", false}}},
		{"upper arm", "arm", [2]span{{"shoulder", "elbow", false}, {"shoulder", "wrist", false}}},
	} {
		name := strings.ReplaceAll(p.part, " ", "-") + "-to-" + p.whole
		out = append(out, Proportion{name, p.part, p.whole, between(name, p.lines, false)})
	}
	return out
}

// LegsApart compares the distance between the ankles with that between the shoulders, the
// unit in which rule books state how far the legs are apart.
func LegsApart() Proportion {
	lines := [2]span{{"right-ankle", "left-ankle", false}, {"right-shoulder", "left-shoulder", false}}
	m := between("legs-apart", lines, true)
	m.Plane = "frontal"
	return Proportion{m.Name, "distance of the ankles", "shoulder width", m}
}

// OwnHips is the split between a front and a back leg, each from its own hip: that of [Lookup] "hip-split"
// where both hips are one point.
func OwnHips() Measure {
	return Measure{Name: "own-hips", Title: "hip split, each leg from its own hip", Plane: "sagittal", Range: fromZero, side: awayFromTrunk,
		ways: []way{{lines: [2]span{{"front-hip", "front-ankle", false}, {"back-hip", "back-ankle", false}}}}}
}

// between is a measure of two lines that only their lengths are taken of.
func between(name string, lines [2]span, plain bool) Measure {
	return Measure{Name: name, Title: name, Plane: "sagittal", Range: aboutZero, side: smallerAngle,
		ways: []way{{lines: lines, plain: plain}}}
}

// LengthRatio returns the length of the first line divided by that of the second.
func (b *Bound) LengthRatio(pts []Point) float64 { return b.vec(0, pts).Norm() / b.vec(1, pts).Norm() }
