package scene

import "math"

// gravity is the standard acceleration of free fall, m/s2 (CGPM 1901).
const gravity = 9.80665

// sole is the thickness of a foot at the toe, in statures, half of it under the
// toe's axis.
const sole = 0.0105

// joined is a pose that moves by curves, and where its hips are.
type joined struct {
	legs [2]legCurves
	arms [2]armCurves
	lean curve
	arch curve
	nod  curve
	turn float64
	hips func(t float64, p Pose) Vec
}

type legCurves struct{ flexion, opening, knee, foot curve }

type armCurves struct{ flexion, opening, elbow, wrist curve }

// shape is the pose at a time, its hips at the origin.
func (m *joined) shape(t float64) Pose {
	p := Pose{Turn: m.turn, Lean: m.lean.at(t), Arch: m.arch.at(t), Nod: m.nod.at(t)}
	for s := range 2 {
		l, a := &m.legs[s], &m.arms[s]
		p.Legs[s] = Leg{Flexion: l.flexion.at(t), Opening: l.opening.at(t), Knee: l.knee.at(t), Foot: l.foot.at(t)}
		p.Arms[s] = Arm{a.flexion.at(t), a.opening.at(t), a.elbow.at(t), a.wrist.at(t)}
	}
	return p
}

// At returns the pose at a time.
func (m *joined) At(t float64) Pose {
	p := m.shape(t)
	p.Hips = m.hips(t, p)
	return p
}

// still is a curve that does not move.
func still(v float64) curve { return curve{points: []float64{v}} }

// lowest is the height of the lowest point of the feet over the origin of a
// pose's axes.
func (b Body) lowest(p Pose) float64 {
	s := b.skeleton(p)
	low := math.Inf(1)
	for _, l := range s.legs {
		low = min(low, l.tip.Y-sole*b.Stature, heel(b, l).Y-0.019*b.Stature)
	}
	return low
}

// heel is the centre of the heel.
func heel(b Body, l limb) Vec {
	return l.low.Sub(l.along[2].Mul(0.018 * b.Stature)).Add(l.along[1].Mul(0.018 * b.Stature))
}
