package reading

import (
	"slices"
	"strings"

	"ecart/geometry"
)

// OverSplitCaution goes with a split or a straddle past 180 degrees.
const OverSplitCaution = "over-split work belongs with a qualified person, and only after a full passive split on the floor"

// OverSplit is whether a measure opens the legs past a flat split where any of these angles is asked or
// may have been reached.
func OverSplit(measure string, degrees ...float64) bool {
	const flat = 180
	return opensLegs(measure) && slices.ContainsFunc(degrees, func(d float64) bool { return d > flat })
}

func opensLegs(measure string) bool { return measure == "hip-split" || measure == "leg-separation" }

// cautions that go with a reading: the general one first, then the skill's.
func cautions(measure geometry.Measure, s *Skill) []string {
	out := []string{"this measures, it does not diagnose or prescribe; pain, clicking or giving way means stop, and see a clinician"}
	if opensLegs(measure.Name) {
		out = append(out, OverSplitCaution)
	}
	if s != nil {
		out = append(out, s.Cautions...)
	}
	return out
}

// ChiefCautions are those of the reading's cautions that stand where there is room for few: the general
// one, that of an over-split where one is asked or the interval reaches one, that of a damaged file, and
// the skill's first that is not about pain, which the general one has.
func (r *Reading) ChiefCautions() []string {
	var out []string
	damage, skill := r.Take.DamageCaution(r.Peak != nil), false
	for i, c := range r.Cautions {
		switch low := strings.ToLower(c); {
		case i == 0:
			out = append(out, c)
		case c == OverSplitCaution:
			asked := 0.0
			if r.Skill != nil {
				asked = r.Skill.ThresholdDeg
			}
			if OverSplit(r.Measure, asked, r.AngleDeg, r.IntervalDeg[1]) {
				out = append(out, c)
			}
		case c == damage:
			out = append(out, c)
		case !skill && !strings.Contains(low, "pain"):
			skill = true
			out = append(out, c)
		}
	}
	return out
}
