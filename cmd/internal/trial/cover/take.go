package main

import (
	"math"
	"strings"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/scene"
	"ecart/geometry"
)

// found is the standard deviation of placing the sticker or the finger at a landmark
// on the skin, mm, on each axis of the plane of motion. Greater trochanter: 15 to 20
// mm (Della Croce 2005, Gait Posture 21:226, second-hand); the others are estimates.
// The study assumes these figures, as the readings do, and cannot test them.
var found = map[string]float64{"hip": 15, "shoulder": 12, "elbow": 7, "wrist": 6, "knee": 9, "ankle": 6, "toe": 6, "ribs": 15}

// take is one simulated take: the request for a reading, and the truth.
type take struct {
	request  reading.Request
	truth    float64 // degrees; of legs-apart hundredths of a shoulder width
	apart    bool
	distance float64 // m
	redrawn  int     // takes discarded before it because something was outside the picture
}

// given is what the reading is given in addition to the class and the lens file.
type given struct {
	name              string
	stature, distance bool
}

var (
	nothingGiven = given{name: ""}
	allGiven     = given{name: "stature and distance", stature: true, distance: true}
)

// take draws random takes until everything to mark is in the picture.
func (d dice) take(r row, priors *reading.Priors) take {
	for tries := 0; ; tries++ {
		if t, ok := d.try(r, priors); ok {
			t.redrawn = tries
			return t
		}
	}
}

func (d dice) try(r row, priors *reading.Priors) (take, bool) {
	pl := plans[r.measure.Name]
	body := d.athlete()
	pose := d.posed(r.measure.Name, body)
	joints := body.Joints(pose)
	s := d.shoot(r.class, r.lens, body, joints)

	still := &scene.Scene{Body: body, Motion: scene.Held(pose), Camera: s.camera, Hall: scene.PlainHall(), FPS: 1, Frames: 1}
	truth := still.Truth(0)
	marks := &reading.Marks{Schema: reading.MarksSchema, Facing: truth.Facing, Found: reading.Stickered}
	for _, name := range pl.marks {
		m, ok := truth.Mark(name)
		if !ok {
			panic("no landmark " + name)
		}
		sd := found[name[strings.LastIndexByte(name, '-')+1:]] / 1000
		at := scene.Vec{X: m.Skin[0] + d.normal(0, sd), Y: m.Skin[1] + d.normal(0, sd), Z: m.Skin[2]}
		px, ok := d.seen(s.camera, at)
		if !ok {
			return take{}, false
		}
		marks.Marks = append(marks.Marks, reading.Placement{Landmark: name, X: px[0], Y: px[1]})
	}
	if s.corners != nil {
		marks.Plane = &reading.Rectangle{WidthM: matWidth, HeightM: matHeight}
		for i, c := range s.corners {
			px, ok := d.seen(s.camera, c)
			if !ok {
				return take{}, false
			}
			marks.Plane.Corners[i] = px
		}
	}
	t := take{truth: truth.Angles[r.measure.Name], distance: s.distance}
	if r.measure.Name == legsApart {
		t.truth, t.apart = 100*widthsApart(joints), true
	}
	if pl.magnitude {
		t.truth = math.Abs(t.truth)
	}
	asked := r.measure
	if t.apart {
		asked, _ = geometry.Lookup("leg-separation")
	}
	t.request = reading.Request{Take: reading.Take{Name: "simulated", WidthPx: width, HeightPx: height},
		Marks: marks, Measure: asked, Priors: priors, Lens: s.lens, MaxDraws: draws, Seed: d.Uint64()}
	if !r.class.rectangle {
		t.request.Camera = r.class.name
	}
	// a tape measure is accurate to a centimetre, counting paces to a twentieth
	if r.given.stature {
		t.request.StatureMm = 1000*body.Stature + d.normal(0, 10)
	}
	if r.given.distance {
		t.request.DistanceM = s.distance * d.normal(1, 0.05)
	}
	return t, true
}

// draws is one batch of a reading's Monte Carlo simulation.
const draws = 10_006
