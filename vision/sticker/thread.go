package sticker

import (
	"math"

	"ecart/geometry"
)

// thread is something that is followed from frame to frame: a sticker, or a rival that looks like one.
type thread struct {
	at     geometry.Point
	v      geometry.Vec // px a frame
	scale  float64      // of what a frame adds to where it was expected, squared, px^2
	radius float64
	frames float64 // since it was seen
	proven bool    // it was seen beside the sticker, so that it is another thing
	moves  bool    // v is known
}

func newThread(c *candidate) thread {
	r := c.radius()
	return thread{at: c.at, scale: r * r, radius: r}
}

// expected is where it is after frames more.
func (t *thread) expected() geometry.Point {
	return geometry.Point{X: t.at.X + t.frames*t.v.X, Y: t.at.Y + t.frames*t.v.Y}
}

// spread is the squared scale of how far from there it may be: what every frame adds to its velocity adds
// up as the cube of the frames.
func (t *thread) spread() float64 { return t.scale * t.frames * t.frames * t.frames }

// stalls is the probability a frame that something lost comes back anywhere in the picture.
const stalls = 0.02

// odds is the logarithm of how much likelier the thread goes on at a place than that something else is there.
// Where it goes has heavy tails (Student's t in the plane with two degrees of freedom):
//
//	p(e) = s^2 / (pi (s^2 + e^2)^2)
//
// against others of its kind, anywhere in the picture, of which a frame shows so many.
func (t *thread) odds(at geometry.Point, picture, others float64) float64 {
	s, e := t.spread(), at.Sub(t.expected()).Norm()
	p := s / (math.Pi * (s + e*e) * (s + e*e))
	anywhere := math.Min(stalls*(t.frames-1), 0.5)
	return math.Log(((1-anywhere)*p*picture + anywhere) / others)
}

// leastScale is that of a sticker at rest, as a part of its radius: limbs start and stop.
const leastScale = 0.25

// see takes in where it is. jump says that it is farther from where it was expected than its motion so far explains.
func (t *thread) see(c *candidate) (jump bool) {
	e := c.at.Sub(t.expected()).Norm()
	jump = e*e > jumps*jumps*t.spread() && e > t.radius
	step := c.at.Sub(t.at).Scale(1 / t.frames)
	if t.moves || t.frames == 1 {
		least := leastScale * t.radius
		was := e * e / (t.frames * t.frames * t.frames)
		if t.moves {
			t.scale = math.Max(t.scale+memory*(math.Min(was, 9*t.scale)-t.scale), least*least)
		}
	}
	t.v, t.moves = step, true
	t.at, t.radius, t.frames = c.at, c.radius(), 0
	return jump
}

// jumps is how many scales off a mark is said to jump: once in 26 times the tails reach so far.
const jumps = 5
