package scene

import "math"

// Leap holds the parameters of a split leap. A zero field means the default given
// in its comment.
type Leap struct {
	Peak      float64 // widest angle between the legs, rad: 163 degrees
	PeakAt    float64 // time of the peak, as a share of the flight: 0.57, after the top
	TakeOff   float64 // time of the take-off, s: 0.38
	Flight    float64 // duration of the flight, s: 0.58; the rise is g Flight^2 / 8
	Tilt      float64 // forward rotation of the two legs about the hips, rad: 0
	Opening   float64 // of both legs out of the plane of motion, rad: 0
	Middle    float64 // X of the hips at the middle of the flight, m: 0
	Left      bool    // the left leg leads
	Switch    bool    // the other leg swings forward first, and they change places in flight
	Leftwards bool    // towards -X
}

func orElse(v, usual float64) float64 {
	if v == 0 {
		return usual
	}
	return v
}

// Motion returns the motion: a split leap from one foot to the other: the end of the run-up,
// take-off, a ballistic flight in which the split opens to its peak and
// closes, the landing and a step out of it. The peak is not at the top of the
// flight, unless PeakAt says 0.5 and the curves agree.
func (o Leap) Motion(b Body) Motion {
	o.Peak, o.PeakAt = orElse(o.Peak, 163*degree), orElse(o.PeakAt, 0.57)
	o.TakeOff, o.Flight = orElse(o.TakeOff, 0.38), orElse(o.Flight, 0.58)

	// the curves smooth their keys, so the keys must lie a little beyond the wanted peak
	asked := o.Peak
	var m *keyframed
	for range 8 {
		m = leapShape(o, asked)
		lead := o.lead()
		_, got := highest(func(t float64) float64 {
			return m.legs[lead].flexion.at(t) - m.legs[lead.other()].flexion.at(t)
		}, o.TakeOff, o.TakeOff+o.Flight)
		asked += o.Peak - got
	}
	leapPath(b, o, m)
	return m
}

func (o Leap) lead() Side {
	if o.Left {
		return Left
	}
	return Right
}

// leapShape makes the curves of the joint angles. Keys before take-off and after
// landing are in seconds from these; keys of the flight are shares of it.
func leapShape(o Leap, peak float64) *keyframed {
	t0, fl := o.TakeOff, o.Flight
	t1 := t0 + fl
	air := func(share float64) float64 { return t0 + share*fl }
	pk := o.PeakAt
	front, back := (peak/2+o.Tilt)/degree, (-peak/2+o.Tilt)/degree

	m := &keyframed{nod: newCurve(degree, key{0, -6}, key{t0, -10}, key{air(pk), -14}, key{t1, -4}, key{t1 + 0.3, -8})}
	m.lean = newCurve(degree, key{t0 - 0.45, 9}, key{t0 - 0.1, 5}, key{t0 + 0.02, 2}, key{air(pk), 3.5}, key{t1, 8}, key{t1 + 0.14, 13}, key{t1 + 0.4, 5})
	m.arch = newCurve(degree, key{t0 - 0.3, 6}, key{t0, 14}, key{air(pk), 26}, key{t1, 14}, key{t1 + 0.2, 4})

	lead, trail := &m.legs[o.lead()], &m.legs[o.lead().other()]
	// before take-off one leg swings forward and the other one stands and pushes
	at := func(keys ...key) []key {
		for i := range keys {
			keys[i].t += t0
		}
		return keys
	}
	free := func() (flexion, knee, foot []key) {
		return at(key{-0.42, -26}, key{-0.30, -18}, key{-0.18, 6}, key{-0.06, 48}),
			at(key{-0.42, 12}, key{-0.30, 62}, key{-0.18, 96}, key{-0.06, 72}),
			at(key{-0.42, 62}, key{-0.30, 50}, key{-0.10, 40})
	}
	push := func() (flexion, knee, foot []key) {
		return at(key{-0.42, 42}, key{-0.30, 36}, key{-0.20, 24}, key{-0.10, 2}, key{0, -22}),
			at(key{-0.42, 70}, key{-0.30, 38}, key{-0.20, 16}, key{-0.10, 30}, key{0, 4}),
			at(key{-0.42, 20}, key{-0.24, 6}, key{-0.18, 2}, key{-0.09, 4}, key{0.01, 64})
	}
	lf, lk, lt := free()
	tf, tk, tt := push()
	if o.Switch {
		// the free leg rises in front first, then the legs change places in flight
		lf, lk, lt = push()
		tf, tk, tt = free()
		lf = append(lf, key{air(0.10), -30}, key{air(0.28), 6}, key{air(0.44), 0.82 * front})
		lk = append(lk, key{air(0.18), 22}, key{air(0.28), 20}, key{air(0.44), 6})
		tf = append(tf, key{t0 + 0.02, 58}, key{air(0.11), 60}, key{air(0.28), 6}, key{air(0.44), 0.78 * back})
		tk = append(tk, key{t0 + 0.04, 24}, key{air(0.24), 6})
	} else {
		lf = append(lf, key{t0 + 0.02, 0.84 * front}, key{air(0.26), 0.965 * front})
		lk = append(lk, key{t0 + 0.04, 30}, key{air(0.30), 5})
		tf = append(tf, key{air(0.20), 0.66 * back}, key{air(0.38), 0.92 * back})
		tk = append(tk, key{air(0.2), 12})
	}
	lead.flexion = newCurve(degree, append(lf, key{air(pk - 0.02), front}, key{air(pk + 0.23), 0.85 * front},
		key{t1, 27}, key{t1 + 0.12, 20}, key{t1 + 0.32, -3}, key{t1 + 0.56, -27})...)
	lead.knee = newCurve(degree, append(lk, key{air(pk - 0.08), 0}, key{air(pk + 0.12), 0}, key{t1 - 0.04, 7},
		key{t1 + 0.14, 40}, key{t1 + 0.34, 22}, key{t1 + 0.56, 14})...)
	lead.foot = newCurve(degree, append(lt, key{air(0.2), 82}, key{air(pk), 87}, key{t1 - 0.06, 62},
		key{t1, 42}, key{t1 + 0.12, -4}, key{t1 + 0.3, 6}, key{t1 + 0.56, 44})...)
	trail.flexion = newCurve(degree, append(tf, key{air(pk + 0.03), back}, key{air(pk + 0.27), 0.90 * back},
		key{t1, -56}, key{t1 + 0.12, -34}, key{t1 + 0.30, 8}, key{t1 + 0.46, 34}, key{t1 + 0.60, 26})...)
	trail.knee = newCurve(degree, append(tk, key{air(pk - 0.12), 0}, key{air(pk + 0.14), 0}, key{t1, 14},
		key{t1 + 0.14, 52}, key{t1 + 0.30, 66}, key{t1 + 0.5, 24})...)
	trail.foot = newCurve(degree, append(tt, key{air(0.2), 82}, key{air(pk), 86}, key{t1, 76}, key{t1 + 0.4, 20})...)

	for s := range 2 {
		m.legs[s].opening = constant(o.Opening)
		m.arms[s].wrist = constant(4 * degree)
	}
	// the arm on the leading leg's side goes up and back, the other one forward
	up, fore := &m.arms[o.lead()], &m.arms[o.lead().other()]
	up.flexion = newCurve(degree, key{t0 - 0.42, 46}, key{t0 - 0.20, 6}, key{t0 - 0.05, 48}, key{air(0.25), 128}, key{air(pk), 158}, key{t1, 128}, key{t1 + 0.25, 70}, key{t1 + 0.55, 24})
	up.opening = newCurve(degree, key{t0 - 0.42, 4}, key{t0, 14}, key{air(pk), 16}, key{t1, 30}, key{t1 + 0.4, 14})
	up.elbow = newCurve(degree, key{t0 - 0.42, 80}, key{t0 - 0.2, 46}, key{air(0.25), 14}, key{air(pk), 6}, key{t1 + 0.1, 12}, key{t1 + 0.5, 34})
	fore.flexion = newCurve(degree, key{t0 - 0.42, -38}, key{t0 - 0.20, -14}, key{t0 - 0.05, 30}, key{air(0.25), 78}, key{air(pk), 102}, key{t1, 84}, key{t1 + 0.25, 30}, key{t1 + 0.55, -14})
	fore.opening = newCurve(degree, key{t0 - 0.42, 4}, key{t0, 10}, key{air(pk), 12}, key{t1, 34}, key{t1 + 0.4, 12})
	fore.elbow = newCurve(degree, key{t0 - 0.42, 70}, key{t0 - 0.2, 50}, key{air(0.25), 18}, key{air(pk), 5}, key{t1 + 0.1, 16}, key{t1 + 0.5, 40})

	if o.Leftwards {
		m.turn = math.Pi
	}
	return m
}

// leapPath sets the path of the hips: a short flight of the run-up, then over the
// standing toe, a ballistic flight, and over the landing toe.
func leapPath(b Body, o Leap, m *keyframed) {
	t0, t1 := o.TakeOff, o.TakeOff+o.Flight
	touch := t0 - 0.20 // the take-off foot comes down
	dir := 1.0
	if o.Leftwards {
		dir = -1
	}
	lead := o.lead()
	// over returns the hips over a toe that stands at x
	over := func(s Side, p Pose, x float64) Vec {
		p.Hips = Vec{}
		return Vec{X: x - b.skeleton(p).legs[s].tip.X, Y: -b.lowest(p)}
	}
	stand := lead.other() // the leg that takes off
	if o.Switch {
		stand = lead
	}
	stance := func(t float64) Vec { return over(stand, m.poseAtOrigin(t), 0) }
	landing := func(t float64) Vec { return over(lead, m.poseAtOrigin(t), 0) }

	// the speed along X at take-off is that of the hips over the standing leg, averaged over its push
	const push = 0.10
	speed := dir * (stance(t0).X - stance(t0-push).X) / push
	leave := stance(t0)
	middle := leave.X + dir*speed*o.Flight/2
	footing := o.Middle - middle // X of the take-off toe
	leave.X += footing
	down := landing(t1)
	arrive := Vec{X: leave.X + dir*speed*o.Flight, Y: down.Y}
	reach := arrive.X - down.X // X of the landing toe
	rise := (arrive.Y-leave.Y)/o.Flight + gravity*o.Flight/2
	enter := stance(touch)
	const stepFlight = 0.16
	fall := -gravity * stepFlight / 2

	m.hips = func(t float64, p Pose) Vec {
		switch {
		case t < touch:
			s := t - touch
			return Vec{X: enter.X + footing + dir*speed*s, Y: enter.Y + max(fall*s-gravity*s*s/2, 0)}
		case t < t0:
			v := over(stand, p, 0)
			v.X += footing
			return v
		case t < t1:
			s := t - t0
			return Vec{X: leave.X + dir*speed*s, Y: leave.Y + rise*s - gravity*s*s/2}
		default:
			v := over(lead, p, 0)
			v.X += reach
			return v
		}
	}
}
