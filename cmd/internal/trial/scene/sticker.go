package scene

import "math"

// clothThick keeps a sticker off what it sticks on, m.
const clothThick = 0.0008

// Sticker is a round or square sticker on the near side of the body over a landmark.
type Sticker struct {
	Landmark string  // see [Joints.At]; a role is that at the peak of the scene's measure
	RadiusMM float64 // half the side of a square one; 25 where zero
	Colour   uint32  // 0xRRGGBB, sRGB
	Square   bool    // two of its sides run along the limb
	Gloss    float64 // share of the lamps' light that it mirrors, 0 for a matt one; only [Sketch] draws it

	// RoundMM is the radius of the limb that it goes round, 0 for a flat one. A sticker that is
	// bent is lit as its skin turns; its outline is that of a flat one.
	RoundMM float64
}

// stuckRadius is a sticker's usual radius, m: a 50 mm practice dot.
const stuckRadius = 0.025

func (k Sticker) radius() float64 {
	if k.RadiusMM == 0 {
		return stuckRadius
	}
	return k.RadiusMM / 1000
}

// segment is the direction of the part a landmark sits on: what its skin faces
// across.
func (s *skeleton) segment(side Side, kind int) Vec {
	switch kind {
	case hip:
		return s.up
	case shoulder:
		return s.trunk
	case ribs:
		return s.lower
	case knee:
		return s.legs[side].along[0]
	case ankle:
		return s.legs[side].along[1]
	case toe:
		return s.legs[side].along[2]
	case elbow:
		return s.arms[side].along[0]
	}
	return s.arms[side].along[1]
}

// skin is the point of the skin over a landmark on the side towards the camera,
// across the part it sits on, and the skin's direction there.
func skin(sk *skeleton, solids []solid, joint Vec, side Side, kind int) (at, normal Vec) {
	normal = across(sk.segment(side, kind), Vec{Z: 1})
	if normal.Z < 0 {
		normal = normal.Mul(-1)
	}
	return joint.Add(normal.Mul(height(solids, joint, joint, normal, side, kind))), normal
}

// height is how far the body's surface stands out along normal over a place near a
// joint; 0 where the body is not under it.
func height(solids []solid, joint, place, normal Vec, side Side, kind int) float64 {
	const outside = 0.5 // m: farther than any part is thick
	from, dir := place.Add(normal.Mul(outside)), normal.Mul(-1)
	best := outside
	for i := range solids {
		if !carries(solids[i].part, side, kind) {
			continue
		}
		// only what lies about the joint itself
		c, s := solids[i].nearestOnAxis(joint)
		if c.Sub(joint).Norm() > 2*solids[i].radius(s)+0.01 {
			continue
		}
		if t, _, ok := solids[i].hit(from, dir); ok {
			best = min(best, t)
		}
	}
	return outside - best
}

// stickOut is how far a stiff sticker may stand off the skin at its middle where the
// skin about it bulges, m.
const stickOut = 0.010

// stick is a sticker's disc: on the skin over a joint, and clear of what bulges under
// its rim as far as it may stand off.
func stick(sk *skeleton, solids []solid, joint Vec, side Side, kind int, k Sticker) disc {
	at, n := skin(sk, solids, joint, side, kind)
	middle := at.Sub(joint).Dot(n)
	u := across(n, Vec{X: 1})
	w := n.Cross(u)
	rise := 0.0
	const rim = 8
	for i := range rim {
		s, c := math.Sincos(2 * math.Pi * float64(i) / rim)
		edge := joint.Add(u.Mul(k.radius() * c)).Add(w.Mul(k.radius() * s))
		rise = max(rise, height(solids, joint, edge, n, side, kind)-middle)
	}
	d := disc{at: at.Add(n.Mul(clothThick + min(rise, stickOut))), normal: n, r: k.radius(), colour: paint(k.Colour)}
	d.square, d.round = k.Square, sk.segment(side, kind).Cross(n).Unit()
	if k.RoundMM > 0 {
		d.turn = k.radius() / (k.RoundMM / 1000)
	}
	return d
}

// carries says whether a part of the body is under a landmark's sticker.
func carries(p part, side Side, kind int) bool {
	switch kind {
	case hip:
		return p == partTrunk || p == partLeg+part(side)
	case knee:
		return p == partLeg+part(side)
	case ankle, toe:
		return p == partLeg+part(side) || p == partFoot+part(side)
	case shoulder:
		return p == partTrunk || p == partArm+part(side)
	case elbow:
		return p == partArm+part(side)
	case ribs:
		return p == partTrunk
	}
	return p == partArm+part(side) || p == partHand+part(side)
}
