package main

import (
	"math"

	"ecart/cmd/internal/trial/scene"
)

// plan says how takes of one measure are simulated.
type plan struct {
	low, high float64  // true angles are uniform over this range, degrees
	marks     []string // what the rater marks
	frontal   bool     // seen from the front or from behind, else from the side
	air       bool     // off the floor
	magnitude bool     // the sign of the angle has no meaning
	// pose puts the body into a pose; turn then changes the measured angle by as much as
	// its argument, in radians
	pose func(d dice, p *scene.Pose, near, far scene.Side) (turn func(p *scene.Pose, by float64))
}

// Joints that a measure does not use vary around a usual pose; legs and arms open
// out of the sagittal plane by a few degrees. All these values are estimates by eye.
const (
	legOut, legOutSD = 2, 4 // degrees outwards
	armOut, armOutSD = 4, 5
)

// startPose is the pose before the measure's plan changes it: upright, leaning a
// little, arms anywhere, knees and elbows nearly straight.
func startPose(d dice) scene.Pose {
	p := scene.Pose{Tilt: d.normalDeg(0, 5), Lean: d.normalDeg(4, 6), Arch: d.normalDeg(4, 4)}
	for s := range p.Legs {
		p.Legs[s] = scene.Leg{Flexion: d.normalDeg(2, 4), Opening: d.normalDeg(legOut, legOutSD),
			Knee: d.normalDeg(2, 3), Foot: d.normalDeg(50, 25)}
		p.Arms[s] = scene.Arm{Flexion: d.normalDeg(40, 30), Opening: d.normalDeg(armOut, armOutSD),
			Elbow: math.Abs(d.normalDeg(0, 6)), Wrist: d.normalDeg(0, 10)}
	}
	return p
}

var sideArm = []string{"hip", "shoulder", "elbow"}

var plans = map[string]plan{
	"hip-split": {low: 90, high: 200, air: true, marks: []string{"hip", "front-ankle", "back-ankle", "shoulder"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			front, back := near, far
			if d.half() {
				front, back = far, near
			}
			tilt := d.normalDeg(0, 10) // one leg higher than the other
			return func(p *scene.Pose, by float64) {
				p.Legs[front].Flexion, p.Legs[back].Flexion = tilt+by/2, tilt-by/2
			}
		}},
	"shoulder-flexion": {low: 90, high: 200, marks: sideArm,
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			if d.Float64() < 1.0/3 { // in a handstand
				p.Tilt += math.Pi
			}
			return func(p *scene.Pose, by float64) { p.Arms[near].Flexion, p.Arms[far].Flexion = by, by }
		}},
	"shoulder-extension": {low: 0, high: 110, marks: sideArm,
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			p.Lean += d.normalDeg(15, 10)
			return func(p *scene.Pose, by float64) { p.Arms[near].Flexion, p.Arms[far].Flexion = -by, -by }
		}},
	"pike": {low: 90, high: 200, air: true, marks: []string{"hip", "shoulder", "ankle"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			p.Tilt += d.normalDeg(0, 15)
			return func(p *scene.Pose, by float64) {
				p.Legs[near].Flexion, p.Legs[far].Flexion = math.Pi-by, math.Pi-by
			}
		}},
	"leg-separation": {low: 0, high: 200, frontal: true, air: true,
		marks: []string{"right-hip", "left-hip", "right-ankle", "left-ankle", "right-shoulder", "left-shoulder"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			tilt := d.normalDeg(0, 5)
			for s := range p.Legs {
				p.Legs[s].Flexion = d.normalDeg(4, 6) // the legs open out of the frontal plane
			}
			return func(p *scene.Pose, by float64) {
				p.Legs[near].Opening, p.Legs[far].Opening = by/2+tilt, by/2-tilt
			}
		}},
	legsApart: {low: 2, high: 60, frontal: true, air: true, // as leg-separation; legs hardly apart to a stride
		marks: []string{"right-hip", "left-hip", "right-ankle", "left-ankle", "right-shoulder", "left-shoulder"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			tilt := d.normalDeg(0, 3)
			for s := range p.Legs {
				p.Legs[s].Flexion = d.normalDeg(4, 6)
			}
			return func(p *scene.Pose, by float64) {
				p.Legs[near].Opening, p.Legs[far].Opening = by/2+tilt, by/2-tilt
			}
		}},
	"knee-bend": {low: -5, high: 90, marks: []string{"hip", "knee", "ankle", "shoulder"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			p.Legs[near].Flexion = d.normalDeg(30, 20)
			return func(p *scene.Pose, by float64) { p.Legs[near].Knee = by }
		}},
	"elbow-bend": {low: 0, high: 90, magnitude: true, marks: []string{"shoulder", "elbow", "wrist"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			p.Arms[near].Flexion = d.uniform(20, 170) * degree
			return func(p *scene.Pose, by float64) { p.Arms[near].Elbow = by }
		}},
	"foot-point": {low: 90, high: 190, marks: []string{"knee", "ankle", "toe", "hip", "shoulder"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			p.Legs[near].Flexion = d.normalDeg(25, 20)
			return func(p *scene.Pose, by float64) { p.Legs[near].Foot = by - math.Pi/2 }
		}},
	"off-vertical": {low: 0, high: 60, magnitude: true, marks: []string{"wrist", "ankle"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			sign := 1.0
			if d.half() {
				sign = -1
			}
			for s := range p.Arms {
				p.Arms[s].Flexion = d.normalDeg(178, 5)
			}
			return func(p *scene.Pose, by float64) { p.Tilt = math.Pi + sign*by }
		}},
	"hip-flexion": {low: 20, high: 150, marks: []string{"hip", "shoulder", "ankle"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			return func(p *scene.Pose, by float64) { p.Legs[near].Flexion = by }
		}},
	"hip-extension": {low: 0, high: 90, air: true, marks: []string{"hip", "shoulder", "ankle"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			p.Lean += d.normalDeg(15, 10)
			return func(p *scene.Pose, by float64) { p.Legs[near].Flexion = -by }
		}},
	"uneven-legs": {low: -40, high: 40, air: true, marks: []string{"hip", "front-ankle", "back-ankle"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			front, back := near, far
			if d.half() {
				front, back = far, near
			}
			split := d.uniform(100, 180) * degree
			return func(p *scene.Pose, by float64) {
				p.Legs[front].Flexion, p.Legs[back].Flexion = split/2+by/2, by/2-split/2
			}
		}},
	"trunk-arch": {low: -10, high: 50, marks: []string{"hip", "ribs", "shoulder"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			return func(p *scene.Pose, by float64) { p.Arch = by }
		}},
	"shoulder-flexion-from-ribs": {low: 90, high: 200, marks: []string{"shoulder", "ribs", "elbow", "hip"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			p.Arch = d.uniform(0, 30) * degree
			return func(p *scene.Pose, by float64) { p.Arms[near].Flexion, p.Arms[far].Flexion = by, by }
		}},
	"foot-sickle": {low: -20, high: 45, frontal: true, air: true, marks: []string{"left-knee", "left-ankle", "left-toe"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			p.Legs[scene.Left].Foot = d.normalDeg(75, 8) // seen from the front a flat foot points at the camera
			return func(p *scene.Pose, by float64) {
				p.Legs[scene.Left].Sickle = by
				p.Legs[scene.Right] = p.Legs[scene.Left] // because the truth is that of the nearer foot
			}
		}},
	"leg-rise": {low: -30, high: 80, marks: []string{"hip", "ankle"},
		pose: func(d dice, p *scene.Pose, near, far scene.Side) func(*scene.Pose, float64) {
			return func(p *scene.Pose, by float64) { p.Legs[near].Flexion = by + math.Pi/2 }
		}},
}

// legsApart is the row of the ankles' distance in hundredths of a shoulder width.
const legsApart = "legs-apart"

// widthsApart is how far the ankles are apart in the plane that faces the camera, in shoulder widths.
func widthsApart(j scene.Joints) float64 {
	between := func(kind string) float64 {
		l, _ := j.At("left-" + kind)
		r, _ := j.At("right-" + kind)
		return math.Hypot(l.X-r.X, l.Y-r.Y)
	}
	return between("ankle") / between("shoulder")
}

// posed returns a pose of the plan in which the angle is near one drawn evenly from the
// measure's range. The exact angle follows from the landmarks.
func (d dice) posed(measure string, b scene.Body) scene.Pose {
	pl := plans[measure]
	if measure == legsApart {
		measure = "leg-separation"
	}
	want := d.uniform(pl.low, pl.high)
	p := startPose(d)
	if d.half() {
		p.Turn = math.Pi // faces left
	}
	if pl.frontal {
		p.Turn += math.Pi / 2 // faces the camera or away from it
	}
	near := b.Joints(p).Near()
	turn := pl.pose(d, &p, near, 1-near)
	const rounds = 4
	by := want * degree
	for range rounds {
		turn(&p, by)
		by += circularDifference(want, b.Joints(p).Angles()[measure]) * degree
	}
	turn(&p, by)
	// on the floor or above it
	lowest := math.Inf(1)
	j := b.Joints(p)
	for _, name := range limbLandmarks {
		at, _ := j.At(name)
		lowest = math.Min(lowest, at.Y)
	}
	p.Hips.Y = 0.04*b.Stature - lowest
	if pl.air {
		p.Hips.Y += d.uniform(0, 0.6)
	}
	return p
}

// circularDifference returns a - b on the circle, degrees in [-180, 180).
func circularDifference(a, b float64) float64 {
	return math.Mod(math.Mod(a-b+180, 360)+360, 360) - 180
}

var limbLandmarks = func() (names []string) {
	for _, side := range []string{"left-", "right-"} {
		for _, kind := range []string{"hip", "shoulder", "elbow", "wrist", "knee", "ankle", "toe"} {
			names = append(names, side+kind)
		}
	}
	return names
}()
