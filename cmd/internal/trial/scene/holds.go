package scene

import "math"

// Handstand is what can be set of a handstand that settles. Zero values take
// the usual figure, which stands behind each.
type Handstand struct {
	Shoulder float64 // shoulder angle it settles at, rad: 178 degrees
	Swing    float64 // how far it is off at the start: -16 degrees
	Beat     float64 // s for one sway: 0.9
	Settle   float64 // s in which a sway falls to a third: 0.8
	Pike     float64 // bend at the hips it keeps: 3 degrees
	Off      float64 // from wrist to ankle against the vertical, towards +X: 1.5 degrees
	X        float64 // of the hands: 0
}

type handstand struct {
	b Body
	o Handstand
}

// Of returns the motion: a handstand, kicked up towards +X, whose shoulder angle sways
// and settles. The hands stay where they are.
func (o Handstand) Of(b Body) Motion {
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
	// turn the whole so that wrist to ankle leans as asked, swaying a little
	lean := o.Off + 2.5*degree*math.Exp(-t/o.Settle)*math.Sin(2*math.Pi*t/o.Beat)
	j := h.b.Joints(p)
	line := j.at[Right][ankle].Sub(j.at[Right][wrist])
	p.Tilt += lean - math.Atan2(line.X, line.Y)
	// the hand lies on the floor however the forearm leans
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

// Straddle is what can be set of a straddle jump. Zero values take the usual
// figure, which stands behind each.
type Straddle struct {
	Peak    float64 // widest angle between the legs, rad: 140 degrees
	PeakAt  float64 // as a share of the flight: 0.54
	TakeOff float64 // s: 0.3
	Flight  float64 // s: 0.54
	Lift    float64 // of the legs to the front, at the peak: 0
}

// Of returns the motion: a jump from two feet, seen from the front, its legs opening
// sideways and closing again.
func (o Straddle) Of(b Body) Motion {
	o.Peak, o.PeakAt = orElse(o.Peak, 140*degree), orElse(o.PeakAt, 0.54)
	o.TakeOff, o.Flight = orElse(o.TakeOff, 0.3), orElse(o.Flight, 0.54)
	asked := o.Peak / 2
	var m *joined
	for range 8 {
		m = straddleShape(o, asked)
		_, got := highest(m.legs[Right].opening.at, o.TakeOff, o.TakeOff+o.Flight)
		asked += o.Peak/2 - got
	}
	t0, t1 := o.TakeOff, o.TakeOff+o.Flight
	stand := func(t float64) float64 { return -b.lowest(m.shape(t)) }
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

func straddleShape(o Straddle, open float64) *joined {
	t0, t1 := o.TakeOff, o.TakeOff+o.Flight
	air := func(share float64) float64 { return t0 + share*o.Flight }
	w := open / degree
	m := &joined{turn: math.Pi / 2, nod: still(0), arch: still(4 * degree)}
	m.lean = newCurve(degree, key{0, 4}, key{t0 - 0.12, 22}, key{t0, 3}, key{air(o.PeakAt), 4}, key{t1, 8}, key{t1 + 0.12, 20}, key{t1 + 0.4, 3})
	for s := range 2 {
		l, a := &m.legs[s], &m.arms[s]
		l.flexion = newCurve(degree, key{0, 2}, key{t0 - 0.12, 46}, key{t0, 2}, key{air(o.PeakAt), o.Lift / degree}, key{t1, 8}, key{t1 + 0.12, 44}, key{t1 + 0.4, 2})
		l.knee = newCurve(degree, key{0, 2}, key{t0 - 0.12, 78}, key{t0 + 0.01, 2}, key{air(0.3), 0}, key{air(0.8), 0}, key{t1, 10}, key{t1 + 0.12, 74}, key{t1 + 0.4, 2})
		l.foot = newCurve(degree, key{0, 2}, key{t0 - 0.12, -28}, key{t0, 60}, key{air(0.3), 80}, key{air(0.8), 80}, key{t1, 50}, key{t1 + 0.12, -26}, key{t1 + 0.4, 2})
		l.opening = newCurve(degree, key{0, 3}, key{t0, 4}, key{air(0.25), 0.66 * w}, key{air(o.PeakAt), w}, key{air(0.8), 0.60 * w}, key{t1, 6}, key{t1 + 0.4, 4})
		a.flexion = newCurve(degree, key{0, 4}, key{t0 - 0.14, -34}, key{t0, 60}, key{air(0.4), 96}, key{t1, 70}, key{t1 + 0.4, 10})
		a.opening = newCurve(degree, key{0, 14}, key{t0 - 0.1, 10}, key{air(0.3), 62}, key{air(0.7), 66}, key{t1 + 0.1, 40}, key{t1 + 0.4, 14})
		a.elbow, a.wrist = still(8*degree), still(2*degree)
	}
	return m
}

// walk is somebody walking through the picture.
type walk struct {
	b     Body
	from  Vec     // where the hips' foot point is at t = 0 (Y is not used)
	speed float64 // m/s along X; its sign is the way
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
