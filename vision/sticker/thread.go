package sticker

import (
	"math"

	"ecart/geometry"
)

// thread is something that is followed from frame to frame: a sticker, or a rival that looks like one.
type thread struct {
	look   look
	at     geometry.Point
	v      geometry.Vec // px a frame
	scale  float64      // of what a frame adds to where it was expected, squared, px^2
	turn   float64      // that scale when its velocity is first known
	radius float64
	frames float64   // since it was seen
	proven bool      // it was seen beside the sticker, so that it is another thing
	steady bool      // it was seen in every frame since
	path   []attempt // where it was seen in the last frames while the sticker was lost, if it may be that
	sights int       // how often it was seen: v is known from the second time on
}

func newThread(c *candidate) thread {
	r := c.radius()
	return thread{look: newLook(c), at: c.at, scale: r * r, turn: r * r, radius: r, sights: 1}
}

// expected is where it is after frames more.
func (t *thread) expected() geometry.Point {
	return geometry.Point{X: t.at.X + t.frames*t.v.X, Y: t.at.Y + t.frames*t.v.Y}
}

// spread is the squared scale of how far from there it may be: what every frame adds to its velocity adds
// up as the cube of the frames.
func (t *thread) spread() float64 {
	if t.sights == 1 { // its velocity is not known
		return t.scale * t.frames * t.frames
	}
	return t.scale * t.frames * t.frames * t.frames
}

// place is the logarithm of how much likelier the thread is at the place of a candidate than something new is, of which a frame
// shows so many in the picture. Where the thread goes has heavy tails (Student's t in the plane with two degrees of freedom):
//
//	p(e) = s^2 / (pi (s^2 + e^2)^2)
func (t *thread) place(c *candidate, picture, births float64) float64 {
	return math.Log(density(t.spread(), c.at.Sub(t.expected()).Norm()) * picture / births)
}

// density is that of Student's t in the plane with two degrees of freedom and a squared scale s, at a distance.
func density(s, e float64) float64 { return s / (math.Pi * (s + e*e) * (s + e*e)) }

// odds is the logarithm of how much likelier the thread shows a candidate than that something new does, by its place and its look;
// -Inf where the candidate looks like another thing.
func (t *thread) odds(c *candidate, picture, births float64) float64 {
	place := t.place(c, picture, births)
	if place < -mostLook {
		return math.Inf(-1)
	}
	look, ok := t.look.odds(c, t.frames)
	if !ok {
		return math.Inf(-1)
	}
	return look + place
}

// leastScale is that of a sticker at rest, as a part of its radius: limbs start and stop.
const leastScale = 0.25

// gone reports whether it was not seen in the frame before.
func (t *thread) gone() bool { return t.frames > 1.5 }

// see takes in where it is.
func (t *thread) see(c *candidate) {
	e := c.at.Sub(t.expected()).Norm()
	step := c.at.Sub(t.at).Scale(1 / t.frames)
	if t.sights == 1 {
		t.scale = t.turn
	} else {
		least := leastScale * t.radius
		was := e * e / (t.frames * t.frames * t.frames)
		weight := math.Max(memory, 1/float64(t.sights)) // what the first steps were is the mean of them
		t.scale = math.Max(t.scale+weight*(math.Min(was, 9*t.scale)-t.scale), least*least)
	}
	t.v = step
	t.at, t.radius, t.frames = c.at, c.radius(), 0
	t.sights++
	t.look.learn(c)
}
