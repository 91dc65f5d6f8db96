package reading

import (
	"slices"
	"strings"

	"ecart/geometry"
)

// OverSplitCaution is the caution for a split or straddle past 180 degrees.
const OverSplitCaution = "over-split work belongs with a qualified person, and only after a full passive split on the floor"

// OverSplit reports whether the measure is a split or straddle and any of the angles is past a flat
// split, 180 degrees.
func OverSplit(measure string, degrees ...float64) bool {
	const flat = 180
	return opensLegs(measure) && slices.ContainsFunc(degrees, func(d float64) bool { return d > flat })
}

func opensLegs(measure string) bool { return measure == "hip-split" || measure == "leg-separation" }

// cautions are those of a reading: the general one first, the skill's last.
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

// ChiefCautions selects the reading's cautions for where there is little room:
//
//   - the general one
//   - the over-split's, if one is asked or the interval reaches one
//   - the damaged file's
//   - the first of the skill's that is not about pain, which the general one covers
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
