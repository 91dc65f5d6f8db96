package sticker

import (
	"image"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// A streak that was expected to lie otherwise is put right by where the sticker is in the pictures
// before and after, and the centre with it; what lies elsewhere is not taken for the sticker.
func TestPlacesBeforeAndAfterTellTheStreak(t *testing.T) {
	const (
		speed = 48.0 // px a picture
		open  = 0.4  // of the time between pictures
		dt    = 1.0 / 60
		least = 0.3 // px that the wrong streak moves the centre by, or the test says nothing
		rest  = 3.0 // of which at most the part over this is left: the other thing is near
	)
	at := geometry.Point{X: 64.3, Y: 63.6}
	d := dot{x: at.X, y: at.Y, a: 9, b: 9, vx: speed * open, colour: rgb(magenta)}
	// something of the same colour lies at the sticker's side
	other := dot{x: at.X + 16, y: at.Y + 20, a: 9, b: 9, colour: rgb(magenta)}
	p := paint{w: 128, h: 128, back: plain(0xcdcbc4), dots: []dot{d, other}, noise: 2, lens: 0.7, grid: 2, times: 16}
	picture := Still(p.render(rand.New(rand.NewPCG(4, 4))))

	s := circle(at, 9, 0.8)
	b := beginning{result: result{outline: s, cov: [2][2]float64{{0.01, 0}, {0, 0.01}}}}
	b.look = look{target: target{hue: hueOfLight(rgb(magenta)), near: 0.02, bright: 0.35}, light: rgb(magenta), around: rgb(0xcdcbc4), shape: s}
	b.code = newCoding(&b.result)
	w := newTracked("ankle", &b, 1)
	w.windows[0].load(picture, image.Rect(24, 24, 104, 104))

	wrong := w.look.belief(shapeFree)
	wrong.way, wrong.long, wrong.longRange = geometry.Vec{X: math.Sqrt2 / 2, Y: math.Sqrt2 / 2}, speed*open, 1
	c, ok := w.try(&w.windows[0], at, wrong.outline, wrong)
	require.True(t, ok)
	off := c.at.Sub(at).Norm()
	require.Greater(t, off, least)

	f := newFollower([]*tracked{w}, shutter{open: open * dt}, [2]float32{})
	w.turn = 1
	w.before = &settled{candidate: c, from: geometry.Point{X: at.X - speed, Y: at.Y}, since: dt, moved: true}
	mark := c.mark()
	f.again(w, geometry.Point{X: at.X + speed, Y: at.Y}, dt, &mark)
	assert.Less(t, mark.At.Sub(at).Norm(), off/rest)
}
