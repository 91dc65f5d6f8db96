package geometry

import "strings"

// Proportion is the ratio of the lengths of two body lines between landmarks of one
// frame: [Bound.LengthRatio] of Lines, which are bound like a measure. The angle
// between them is not used.
type Proportion struct {
	Name, Part, Whole string // "arm-to-leg", "arm", "leg"
	Lines             Measure
}

// Proportions lists the proportions of limbs and trunk.
func Proportions() []Proportion {
	var out []Proportion
	for _, p := range []struct {
		part, whole string
		lines       [2]bodyLine
	}{
		{"arm", "leg", [2]bodyLine{{"shoulder", "wrist", false}, {"hip", "ankle", false}}},
		{"arm", "trunk", [2]bodyLine{{"shoulder", "wrist", false}, {"hip", "shoulder", false}}},
		{"trunk", "leg", [2]bodyLine{{"hip", "shoulder", false}, {"hip", "ankle", false}}},
		{"thigh", "leg", [2]bodyLine{{"hip", "knee", false}, {"hip", "ankle", false}}},
		{"upper arm", "arm", [2]bodyLine{{"shoulder", "elbow", false}, {"shoulder", "wrist", false}}},
	} {
		name := strings.ReplaceAll(p.part, " ", "-") + "-to-" + p.whole
		out = append(out, Proportion{name, p.part, p.whole, lengthMeasure(name, p.lines, false)})
	}
	return out
}

// LegsApart is the distance between the ankles in shoulder widths, the unit in which rule
// books state how far the legs are apart.
func LegsApart() Proportion { return inShoulderWidths("legs-apart", "ankle") }

// KneesApart is LegsApart for the knees.
func KneesApart() Proportion { return inShoulderWidths("knees-apart", "knee") }

func inShoulderWidths(name, joint string) Proportion {
	lines := [2]bodyLine{{"right-" + joint, "left-" + joint, false}, {"right-shoulder", "left-shoulder", false}}
	m := lengthMeasure(name, lines, true)
	m.Plane = "frontal"
	return Proportion{m.Name, "distance of the " + joint + "s", "shoulder width", m}
}

// OwnHips is the split between a front and a back leg, each measured from its own hip. If
// both hips are at one point it equals the measure "hip-split".
func OwnHips() Measure {
	return Measure{Name: "own-hips", Title: "hip split, each leg from its own hip", Plane: "sagittal", Range: fromZero, side: awayFromTrunk,
		lineSets: []lineSet{{lines: [2]bodyLine{{"front-hip", "front-ankle", false}, {"back-hip", "back-ankle", false}}}}}
}

// HipsToShoulder has the lines from both hips, of the leg behind and of the other one, to one shoulder.
func HipsToShoulder() Measure {
	return lengthMeasure("hips-to-shoulder", [2]bodyLine{{"back-hip", "shoulder", false}, {"front-hip", "shoulder", false}}, true)
}

// lengthMeasure returns a measure of two lines of which only the lengths are used.
func lengthMeasure(name string, lines [2]bodyLine, plain bool) Measure {
	return Measure{Name: name, Title: name, Plane: "sagittal", Range: aboutZero, side: smallerAngle,
		lineSets: []lineSet{{lines: lines, plain: plain}}}
}

// LengthRatio returns the length of the first line divided by that of the second.
func (b *Bound) LengthRatio(pts []Point) float64 { return b.vec(0, pts).Norm() / b.vec(1, pts).Norm() }
