package reading

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
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

// BeyondBodies is the error of an angle outside the range that bodies reach. The cause is far more
// often a mark on the wrong landmark, or the wrong facing, than the athlete. Request.Beyond confirms
// the angle.
type BeyondBodies struct {
	fault    *fault.Error
	AngleDeg float64
}

func (b *BeyondBodies) Error() string { return b.fault.Error() }

// Hint says what to check, and how to confirm the angle.
func (b *BeyondBodies) Hint() string { return b.fault.Hint() }

func (b *BeyondBodies) Unwrap() error { return b.fault }

var beyondHint = "look at the marks and at the facing; if the angle is right, say so with " + fault.Option("beyond")

// checkBodies refuses an angle outside the range that bodies reach, unless the request confirms it.
func (q *Request) checkBodies(m *model) error {
	r, ok := q.Priors.Bodies.Reach[q.Measure.Name]
	a := m.about.Degrees()
	if !ok || q.Beyond || r.holds(a) {
		return nil
	}
	return &BeyondBodies{fault.New(fmt.Sprintf("%s of %.0f° is outside what bodies reach, %g to %g°", q.Measure.Title, a, r[0], r[1]), beyondHint), a}
}

// Reach is the range of angles that bodies reach, degrees, modulo 360: 350 is -10.
type Reach [2]float64

func (r Reach) holds(deg float64) bool {
	const turn = 360
	return r[1]-r[0] >= turn || math.Mod(math.Mod(deg-r[0], turn)+turn, turn) <= r[1]-r[0]
}

// checkReach returns an error for an unknown measure and for invalid limits.
func (p *Priors) checkReach() error {
	for name, r := range p.Bodies.Reach {
		if _, ok := geometry.Lookup(name); !ok {
			return fmt.Errorf("bodies reach %q is no measure", name)
		}
		if !(r[0] < r[1] && r[0] >= -360 && r[1] <= 360) {
			return fmt.Errorf("bodies reach %s must be two angles from -360 to 360, the lower first, not %v", name, r)
		}
	}
	return nil
}
