package calibrate

import (
	"math/rand/v2"

	"ecart/geometry"
)

// nine is the board of these tests.
var nine = Board{Columns: 9, Rows: 6, SquareMm: 24}

// Size of the pictures of the simulated camera, px.
const wide, high = 1920, 1080

// phoneLens draws a lens typical of phones and action cameras.
func phoneLens(rng *rand.Rand) lens {
	f := 1300 + 300*rng.Float64()
	n := rng.NormFloat64
	return lens{
		fx: f, fy: f * (1 + 0.003*n()), cx: 960 + 15*n(), cy: 540 + 15*n(),
		k1: 0.1 * n(), k2: 0.05 * n(), p1: 0.001 * n(), p2: 0.001 * n(), k3: 0.02 * n(),
	}
}

// held describes a simulated camera and how a board is held in front of it.
type held struct {
	lens  lens
	shape []float64 // of the board; nil is perfect
	sigma float64   // px, noise of each corner in each axis
	lean  float64   // rad, standard deviation of its tilt about each axis
	flex  float64   // standard deviation of bowAcross between pictures
}

// picture returns the corners of a board in a random pose that lies completely in the
// picture, and the pose.
func (h *held) picture(rng *rand.Rand) ([]geometry.Point, pose) {
	n := rng.NormFloat64
	for {
		q := pose{r: rotation(vec{h.lean * n(), h.lean * n(), 0.6 * n()})}
		z := 13 + 9*rng.Float64()
		q.t = vec{z * 0.55 * (2*rng.Float64() - 1), z * 0.32 * (2*rng.Float64() - 1), z}
		shape := make([]float64, shapes)
		copy(shape, h.shape)
		shape[bowAcross] += h.flex * n()
		if q.tilt().Degrees() > 55 {
			continue
		}
		if px, ok := h.seen(&q, shape, rng); ok {
			return px, q
		}
	}
}

func (h *held) seen(q *pose, shape []float64, rng *rand.Rand) ([]geometry.Point, bool) {
	const edge = 25 // px, so that the outer squares lie in the picture
	var px []geometry.Point
	for _, c := range nine.sheet() {
		at := c.place(shape)
		if q.depth(at) < 3 {
			return nil, false
		}
		p := h.lens.project(q, at, nil)
		if p.X < edge || p.Y < edge || p.X > wide-edge || p.Y > high-edge {
			return nil, false
		}
		px = append(px, p.Add(geometry.Vec{X: h.sigma * rng.NormFloat64(), Y: h.sigma * rng.NormFloat64()}))
	}
	return px, true
}

// pictures returns n of them, in the form that Look returns.
func (h *held) pictures(rng *rand.Rand, n int) []Picture {
	var out []Picture
	for i := range n {
		px, _ := h.picture(rng)
		out = append(out, Picture{Name: string(rune('a'+i)) + ".jpg", Width: wide, Height: high, Corners: px, EdgePx: 1.5})
	}
	return out
}
