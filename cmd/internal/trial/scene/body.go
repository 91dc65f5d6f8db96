package scene

import (
	"math"
)

// Body holds an athlete's dimensions and colours. Lengths of segments are metres
// between the axes of their joints; HipWidth and ShoulderWidth are from the left
// joint's axis to the right one's.
type Body struct {
	Stature                   float64
	HipWidth, ShoulderWidth   float64
	Trunk                     float64 // hip axis to shoulder axis
	UpperArm, Forearm, Hand   float64
	Thigh, Shank, Foot, Ankle float64 // Foot: ankle to toe; Ankle: its height over the sole
	HipFlesh                  float64 // from a hip's axis outwards to the skin at Girth 1; 0 for a thigh that is round at the hip
	Girth                     float64 // factor of the thickness of limbs and trunk; 0 means 1
	Skin, Leotard, Hair       uint32  // colours, 0xRRGGBB in sRGB
}

// NewBody returns a slender body of a stature in metres. The proportions are
// those of Drillis and Contini (1966), from memory. The hip width is between the
// joints' axes; over the skin the hips are 0.221 of stature wide, because the
// thighs are round at the hip.
func NewBody(stature float64) Body {
	h := stature
	return Body{
		Stature: h, HipWidth: 0.110 * h, ShoulderWidth: 0.215 * h,
		Trunk: 0.288 * h, UpperArm: 0.186 * h, Forearm: 0.146 * h, Hand: 0.100 * h,
		Thigh: 0.245 * h, Shank: 0.246 * h, Foot: 0.118 * h, Ankle: 0.039 * h,
		Girth: 1, Skin: 0xbd9074, Leotard: 0x27364a, Hair: 0x3a2a22,
	}
}

// Side is the athlete's left or right.
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

// outward is the sign of the outward direction on the body's axis from left to
// right: +1 for the right side, -1 for the left one.
func (s Side) outward() float64 { return float64(2*s - 1) }

// kinds of landmarks, in the order of landmarkNames
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

// Pose is a body's position and joint angles (rad). The zero Pose stands upright,
// arms hanging, facing right (+X), its hips at the origin.
type Pose struct {
	Hips Vec     // midway between the two hips
	Turn float64 // of the whole body about the vertical: 0 faces +X, pi/2 faces the camera, pi faces -X
	Tilt float64 // of the whole body in its sagittal plane, forward: pi is upside down
	Lean float64 // of the trunk against the pelvis' vertical, forward
	Arch float64 // backward bend within the trunk; the line from hip to shoulder keeps its lean
	Nod  float64 // of the head, forward

	Legs [2]Leg // by [Side]
	Arms [2]Arm // by [Side]
}

// Leg is the pose of one leg.
type Leg struct {
	Flexion float64 // thigh against the pelvis' vertical, forward; a back leg is negative
	Opening float64 // of the whole leg out of the sagittal plane, outwards
	Knee    float64 // bend, 0 straight
	Sickle  float64 // of the foot, inwards, out of the shank's sagittal plane
	Foot    float64 // plantar flexion: 0 at right angles to the shank, pi/2 the toe in line with it
}

// Arm is the pose of one arm.
type Arm struct {
	Flexion float64 // against the trunk's line, through the front: 0 hanging, pi overhead
	Opening float64 // out of the sagittal plane, outwards
	Elbow   float64 // bend, 0 straight
	Wrist   float64 // bend of the hand
}

// Split returns the pose with an angle of split between its legs, the leg of the side
// front in front. tilt turns both legs forward. A split of pi without tilt has level
// legs.
func (p Pose) Split(split, tilt float64, front Side) Pose {
	p.Legs[front].Flexion, p.Legs[front.other()].Flexion = split/2+tilt, -split/2+tilt
	return p
}

// Motion is a pose that changes with time, in seconds.
type Motion interface{ At(t float64) Pose }

// Held is a pose that does not move.
type Held Pose

// At returns the pose.
func (h Held) At(float64) Pose { return Pose(h) }

// limb is one arm or leg in space: its three joints, its end, and the direction and
// the front of each segment.
type limb struct {
	root, mid, low, tip Vec
	along               [3]Vec // unit directions of the three segments
	front               [3]Vec // across each segment, to the front of the body at rest
}

// skeleton is a posed body.
type skeleton struct {
	facing, up, right Vec // of the pelvis
	lower, upper      Vec // directions of the two halves of the trunk
	trunk             Vec // direction from hips to shoulders
	chest             Vec // where the upper trunk faces
	hips, waist, neck Vec
	head              Vec // direction of the head's axis
	legs, arms        [2]limb
}

// limbDirection returns a limb's direction and its front for a flexion and an opening
// (rad), in the axes front, up and out.
func limbDirection(front, up, out Vec, flexion, opening float64) (along, fore Vec) {
	sf, cf := math.Sincos(flexion)
	so, co := math.Sincos(opening)
	along = front.Mul(sf * co).Add(up.Mul(-cf * co)).Add(out.Mul(so))
	return along, front.Mul(cf).Add(up.Mul(sf))
}

// bend turns a segment's direction by an angle towards its front.
func bend(along, fore Vec, by float64) (Vec, Vec) {
	s, c := math.Sincos(by)
	return along.Mul(c).Add(fore.Mul(s)), fore.Mul(c).Sub(along.Mul(s))
}

// shrugRise is how far, in statures, a shoulder rises along the trunk when its
// arm goes overhead; by eye.
const shrugRise = 0.020

func (b Body) skeleton(p Pose) skeleton {
	var s skeleton
	st, ct := math.Sincos(p.Turn)
	facing, up := Vec{X: ct, Z: st}, Vec{Y: 1}
	s.right = facing.Cross(up)
	sl, cl := math.Sincos(p.Tilt)
	s.facing = facing.Mul(cl).Sub(up.Mul(sl))
	s.up = up.Mul(cl).Add(facing.Mul(sl))
	s.hips = p.Hips

	s.trunk, _ = bend(s.up, s.facing, p.Lean)
	trunkFront := across(s.trunk, s.facing)
	if math.Abs(p.Lean) > math.Pi/2 {
		_, trunkFront = bend(s.up, s.facing, p.Lean)
	}
	s.lower, _ = bend(s.trunk, trunkFront, p.Arch/2)
	s.upper, s.chest = bend(s.trunk, trunkFront, -p.Arch/2)
	half := b.Trunk / 2 / math.Cos(p.Arch/2)
	s.waist = s.hips.Add(s.lower.Mul(half))
	s.neck = s.waist.Add(s.upper.Mul(half))
	s.head, _ = bend(s.upper, s.chest, p.Nod)

	for side := range s.legs {
		out := s.right.Mul(Side(side).outward())

		l, g := &s.legs[side], p.Legs[side]
		l.root = s.hips.Add(out.Mul(b.HipWidth / 2))
		l.along[0], l.front[0] = limbDirection(s.facing, s.up, out, g.Flexion, g.Opening)
		l.along[1], l.front[1] = bend(l.along[0], l.front[0], -g.Knee)
		l.along[2], l.front[2] = bend(l.along[1], l.front[1], math.Pi/2-g.Foot)
		l.along[2], _ = bend(l.along[2], out.Mul(-1), g.Sickle)
		l.mid = l.root.Add(l.along[0].Mul(b.Thigh))
		l.low = l.mid.Add(l.along[1].Mul(b.Shank))
		l.tip = l.low.Add(l.along[2].Mul(b.Foot))

		a, m := &s.arms[side], p.Arms[side]
		rise := shrugRise * b.Stature * smoothstep(math.Pi/2, math.Pi, math.Abs(m.Flexion))
		a.root = s.neck.Add(out.Mul(b.ShoulderWidth / 2)).Add(s.trunk.Mul(rise))
		a.along[0], a.front[0] = limbDirection(trunkFront, s.trunk, out, m.Flexion, m.Opening)
		a.along[1], a.front[1] = bend(a.along[0], a.front[0], m.Elbow)
		a.along[2], a.front[2] = bend(a.along[1], a.front[1], m.Wrist)
		a.mid = a.root.Add(a.along[0].Mul(b.UpperArm))
		a.low = a.mid.Add(a.along[1].Mul(b.Forearm))
		a.tip = a.low.Add(a.along[2].Mul(b.Hand))
	}
	return s
}
