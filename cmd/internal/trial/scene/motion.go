package scene

import (
	"math"

	"gonum.org/v1/gonum/interp"
)

// curveStep is the spacing of a curve's control points in seconds: short
// against a limb's swing, long enough to smooth the curve at every key.
const curveStep = 0.02

// curve is a quantity over time. It is twice continuously differentiable and stays
// within the range of its keys.
type curve struct {
	start  float64
	points []float64
}

// key is a quantity's value at a time.
type key struct{ t, v float64 }

// newCurve fits a monotone cubic (Fritsch and Butland 1984) to the keys and uses
// its samples as control points of a uniform cubic B-spline. The keys' values are
// multiplied by scale.
func newCurve(scale float64, keys ...key) curve {
	if len(keys) == 1 {
		return curve{keys[0].t, []float64{keys[0].v * scale}}
	}
	ts, vs := make([]float64, len(keys)), make([]float64, len(keys))
	for i, k := range keys {
		ts[i], vs[i] = k.t, k.v*scale
	}
	var fit interp.FritschButland
	if err := fit.Fit(ts, vs); err != nil {
		panic("scene: keys not in order of time: " + err.Error())
	}
	c := curve{start: ts[0]}
	for i := 0; ; i++ {
		t := ts[0] + float64(i)*curveStep
		if t > ts[len(ts)-1] {
			break
		}
		c.points = append(c.points, fit.Predict(t))
	}
	return c
}

// at returns the value at a time; it is constant before the first key and after
// the last one.
func (c curve) at(t float64) float64 {
	n := len(c.points)
	if n == 1 {
		return c.points[0]
	}
	x := clamp((t-c.start)/curveStep, -2, float64(n)+1)
	i := int(x+2) - 2
	u := x - float64(i)
	p := func(k int) float64 { return c.points[max(0, min(n-1, k))] }
	return ((1-u)*(1-u)*(1-u)*p(i-1) + (3*u*u*u-6*u*u+4)*p(i) +
		(-3*u*u*u+3*u*u+3*u+1)*p(i+1) + u*u*u*p(i+2)) / 6
}

// highest finds the maximum of a smooth function on [a, b]: a grid search, then
// a golden-section search about the best grid point.
func highest(f func(float64) float64, a, b float64) (at, value float64) {
	const grid = 0.002
	best, bestAt := f(a), a
	for t := a; t <= b; t += grid {
		if v := f(t); v > best {
			best, bestAt = v, t
		}
	}
	lo, hi := max(a, bestAt-grid), min(b, bestAt+grid)
	const ratio = 0.6180339887498949
	for range 60 {
		x, y := hi-ratio*(hi-lo), lo+ratio*(hi-lo)
		if f(x) < f(y) {
			lo = x
		} else {
			hi = y
		}
	}
	at = (lo + hi) / 2
	return at, f(at)
}

// gravity is the standard acceleration of free fall, m/s2 (CGPM 1901).
const gravity = 9.80665

// sole is half the thickness of a foot at the toe, in statures: the height of the
// toe's axis over the floor.
const sole = 0.0105

// keyframed is a pose that moves by curves, and where its hips are.
type keyframed struct {
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

// poseAtOrigin is the pose at a time, its hips at the origin.
func (m *keyframed) poseAtOrigin(t float64) Pose {
	p := Pose{Turn: m.turn, Lean: m.lean.at(t), Arch: m.arch.at(t), Nod: m.nod.at(t)}
	for s := range 2 {
		l, a := &m.legs[s], &m.arms[s]
		p.Legs[s] = Leg{Flexion: l.flexion.at(t), Opening: l.opening.at(t), Knee: l.knee.at(t), Foot: l.foot.at(t)}
		p.Arms[s] = Arm{a.flexion.at(t), a.opening.at(t), a.elbow.at(t), a.wrist.at(t)}
	}
	return p
}

// At returns the pose at a time.
func (m *keyframed) At(t float64) Pose {
	p := m.poseAtOrigin(t)
	p.Hips = m.hips(t, p)
	return p
}

// constant is a curve that does not move.
func constant(v float64) curve { return curve{points: []float64{v}} }

// lowest is the Y of the lowest point of the feet, m, in the axes of the pose.
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

// Handstand holds the parameters of a handstand that sways and settles. A zero
// field means the default given in its comment.
type Handstand struct {
	Shoulder float64 // shoulder angle it settles at, rad: 178 degrees
	Swing    float64 // initial deviation of the shoulder angle: -16 degrees
	Beat     float64 // period of the sway, s: 0.9
	Settle   float64 // time in which the sway falls to 1/e, s: 0.8
	Pike     float64 // bend at the hips it keeps: 3 degrees
	Off      float64 // from wrist to ankle against the vertical, towards +X: 1.5 degrees
	X        float64 // of the hands: 0
}

type handstand struct {
	b Body
	o Handstand
}

// Motion returns the motion: a handstand, kicked up towards +X, whose shoulder angle sways
// and settles. The hands stay where they are.
func (o Handstand) Motion(b Body) Motion {
	o.Shoulder, o.Swing = orElse(o.Shoulder, 178*degree), orElse(o.Swing, -16*degree)
	o.Beat, o.Settle = orElse(o.Beat, 0.9), orElse(o.Settle, 0.8)
	o.Pike, o.Off = orElse(o.Pike, 3*degree), orElse(o.Off, 1.5*degree)
	return handstand{b, o}
}

// At returns the pose at a time.
func (h handstand) At(t float64) Pose {
	o := h.o
	sway := math.Exp(-t/o.Settle) * math.Cos(2*math.Pi*t/o.Beat)
	p := Pose{Tilt: math.Pi, Arch: 4 * degree, Nod: -24 * degree}
	for s := range 2 {
		p.Legs[s] = Leg{Flexion: o.Pike - 0.5*o.Swing*sway, Foot: 84 * degree, Opening: 0.5 * degree}
		p.Arms[s] = Arm{Flexion: o.Shoulder + o.Swing*sway, Wrist: math.Pi / 2}
	}
	// rotate the body so that the line from wrist to ankle leans by o.Off, plus a small sway
	lean := o.Off + 2.5*degree*math.Exp(-t/o.Settle)*math.Sin(2*math.Pi*t/o.Beat)
	j := h.b.Joints(p)
	line := j.at[Right][ankle].Sub(j.at[Right][wrist])
	p.Tilt += lean - math.Atan2(line.X, line.Y)
	// the hand stays flat on the floor at every lean of the forearm
	s := h.b.skeleton(p)
	for side := range p.Arms {
		fore := s.arms[side].along[1]
		p.Arms[side].Wrist = math.Acos(clamp(-fore.Y, -1, 1))*sign(fore.X)*-1 + math.Pi/2
	}
	w := s.arms[Right].low
	p.Hips = Vec{X: o.X - w.X, Y: handThick*h.b.Stature - w.Y}
	return p
}

// handThick is half the thickness of a hand at the wrist, in statures.
const handThick = 0.014

func sign(x float64) float64 { return math.Copysign(1, x) }

// Straddle holds the parameters of a straddle jump. A zero field means the default
// given in its comment.
type Straddle struct {
	Peak    float64 // widest angle between the legs, rad: 140 degrees
	PeakAt  float64 // time of the peak, as a share of the flight: 0.54
	TakeOff float64 // time of the take-off, s: 0.3
	Flight  float64 // duration of the flight, s: 0.54
	Lift    float64 // flexion of the legs at the peak, rad: 0
}

// Motion returns the motion: a jump from two feet, seen from the front, its legs opening
// sideways and closing again.
func (o Straddle) Motion(b Body) Motion {
	o.Peak, o.PeakAt = orElse(o.Peak, 140*degree), orElse(o.PeakAt, 0.54)
	o.TakeOff, o.Flight = orElse(o.TakeOff, 0.3), orElse(o.Flight, 0.54)
	asked := o.Peak / 2
	var m *keyframed
	for range 8 {
		m = straddleShape(o, asked)
		_, got := highest(m.legs[Right].opening.at, o.TakeOff, o.TakeOff+o.Flight)
		asked += o.Peak/2 - got
	}
	t0, t1 := o.TakeOff, o.TakeOff+o.Flight
	stand := func(t float64) float64 { return -b.lowest(m.poseAtOrigin(t)) }
	up, down := stand(t0), stand(t1)
	rise := (down-up)/o.Flight + gravity*o.Flight/2
	m.hips = func(t float64, p Pose) Vec {
		if t > t0 && t < t1 {
			s := t - t0
			return Vec{Y: up + rise*s - gravity*s*s/2}
		}
		return Vec{Y: -b.lowest(p)}
	}
	return m
}

func straddleShape(o Straddle, open float64) *keyframed {
	t0, t1 := o.TakeOff, o.TakeOff+o.Flight
	air := func(share float64) float64 { return t0 + share*o.Flight }
	w := open / degree
	m := &keyframed{turn: math.Pi / 2, nod: constant(0), arch: constant(4 * degree)}
	m.lean = newCurve(degree, key{0, 4}, key{t0 - 0.12, 22}, key{t0, 3}, key{air(o.PeakAt), 4}, key{t1, 8}, key{t1 + 0.12, 20}, key{t1 + 0.4, 3})
	for s := range 2 {
		l, a := &m.legs[s], &m.arms[s]
		l.flexion = newCurve(degree, key{0, 2}, key{t0 - 0.12, 46}, key{t0, 2}, key{air(o.PeakAt), o.Lift / degree}, key{t1, 8}, key{t1 + 0.12, 44}, key{t1 + 0.4, 2})
		l.knee = newCurve(degree, key{0, 2}, key{t0 - 0.12, 78}, key{t0 + 0.01, 2}, key{air(0.3), 0}, key{air(0.8), 0}, key{t1, 10}, key{t1 + 0.12, 74}, key{t1 + 0.4, 2})
		l.foot = newCurve(degree, key{0, 2}, key{t0 - 0.12, -28}, key{t0, 60}, key{air(0.3), 80}, key{air(0.8), 80}, key{t1, 50}, key{t1 + 0.12, -26}, key{t1 + 0.4, 2})
		l.opening = newCurve(degree, key{0, 3}, key{t0, 4}, key{air(0.25), 0.66 * w}, key{air(o.PeakAt), w}, key{air(0.8), 0.60 * w}, key{t1, 6}, key{t1 + 0.4, 4})
		a.flexion = newCurve(degree, key{0, 4}, key{t0 - 0.14, -34}, key{t0, 60}, key{air(0.4), 96}, key{t1, 70}, key{t1 + 0.4, 10})
		a.opening = newCurve(degree, key{0, 14}, key{t0 - 0.1, 10}, key{air(0.3), 62}, key{air(0.7), 66}, key{t1 + 0.1, 40}, key{t1 + 0.4, 14})
		a.elbow, a.wrist = constant(8*degree), constant(2*degree)
	}
	return m
}

// walk is the motion of a person who walks through the picture.
type walk struct {
	b     Body
	from  Vec     // where the hips' foot point is at t = 0 (Y is not used)
	speed float64 // m/s along X; negative towards -X
	phase float64 // of the stride at t = 0, rad
}

// At returns the pose at a time.
func (w walk) At(t float64) Pose {
	p := Pose{Lean: 4 * degree}
	if w.speed < 0 {
		p.Turn = math.Pi
	}
	// a stride of two steps is about 0.85 statures long
	phase := w.phase + 2*math.Pi*math.Abs(w.speed)*t/(0.85*w.b.Stature)
	for s := range 2 {
		f := phase + math.Pi*float64(s)
		p.Legs[s] = Leg{
			Flexion: (3 + 24*math.Sin(f)) * degree,
			Knee:    (6 + 48*math.Pow(math.Max(0, math.Cos(f+0.35)), 2)) * degree,
			Foot:    (4 + 16*math.Max(0, -math.Sin(f+0.6))) * degree,
		}
		p.Arms[s] = Arm{Flexion: (2 - 20*math.Sin(f)) * degree, Opening: 7 * degree, Elbow: 18 * degree}
	}
	p.Hips = Vec{X: w.from.X + w.speed*t, Y: -w.b.lowest(p), Z: w.from.Z}
	return p
}
