package scene

// Body is what does not change while an athlete moves. All lengths are metres
// between the axes of the joints, but for HipWidth and ShoulderWidth, which
// are from the left axis to the right one.
type Body struct {
	Stature                   float64
	HipWidth, ShoulderWidth   float64
	Trunk                     float64 // hip axis to shoulder axis
	UpperArm, Forearm, Hand   float64
	Thigh, Shank, Foot, Ankle float64 // Foot: ankle to toe; Ankle: its height over the sole
	HipFlesh                  float64 // from a hip's axis outwards to the skin at Girth 1; 0 for a thigh that is round at the hip
	Girth                     float64 // 1 for the usual thickness of limbs and trunk
	Skin, Leotard, Hair       uint32  // colours, 0xRRGGBB in sRGB
}

// NewBody returns a slender body of a stature in metres. The proportions are
// those of Drillis and Contini (1966), from memory; the hip width is that of
// the joints' axes, not of the skin. Its thighs are round at the hip, which makes
// it 0.221 of stature across the skin there.
func NewBody(stature float64) Body {
	h := stature
	return Body{
		Stature: h, HipWidth: 0.110 * h, ShoulderWidth: 0.215 * h,
		Trunk: 0.288 * h, UpperArm: 0.186 * h, Forearm: 0.146 * h, Hand: 0.100 * h,
		Thigh: 0.245 * h, Shank: 0.246 * h, Foot: 0.118 * h, Ankle: 0.039 * h,
		Girth: 1, Skin: 0xbd9074, Leotard: 0x27364a, Hair: 0x3a2a22,
	}
}

// Side is left or right, as the athlete has it.
type Side int

// The two sides of a body.
const (
	Left Side = iota
	Right
)

// String is "left" or "right".
func (s Side) String() string {
	if s == Left {
		return "left"
	}
	return "right"
}

func (s Side) other() Side { return 1 - s }

// outward is +1 for the right side and -1 for the left one: the sign of the
// way outwards along the body's axis from left to right.
func (s Side) outward() float64 { return float64(2*s - 1) }

// landmark kinds, in the order in which they are listed.
const (
	hip = iota
	shoulder
	elbow
	wrist
	knee
	ankle
	toe
	ribs // the lowest ribs, at the waist, as far out as the hip
	landmarks
)

var landmarkNames = [landmarks]string{"hip", "shoulder", "elbow", "wrist", "knee", "ankle", "toe", "ribs"}

func isLeg(kind int) bool { return kind == hip || kind >= knee }
