package sticker

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// An encoder that stores little colour leaves it in a sticker's middle, and about that a darker ring:
// the sticker is both, and as large as it is.
func TestWholeStickerIsFound(t *testing.T) {
	const radius, middle, near = 8.0, 5.5, 0.4 // px
	rnd := rand.New(rand.NewPCG(4, 2))
	for _, ring := range []uint32{0x3c68c8, 0x3a5fd0, 0x2f62d8} {
		p := paint{w: 140, h: 140, back: plain(0xded9d4), noise: 2, lens: 0.9, grid: 4, dots: []dot{
			{x: 70.3, y: 69.6, a: middle, b: middle, colour: rgb(0x1e70ff)},
			{x: 70.3, y: 69.6, a: radius, b: radius, colour: rgb(ring)},
		}}
		m, _, err := Find(Still(p.render(rnd)), geometry.Point{X: 69, Y: 70})
		require.NoError(t, err)
		assert.InDelta(t, radius, m.Radius, near, "a ring of #%06x", ring)
	}
}

// A place a little beside a small sticker finds it; one that is farther off, and may be on a thing of its own, does not.
func TestWhatIsBesideIsAnother(t *testing.T) {
	p := paint{w: 140, h: 140, back: plain(0xded9d4), noise: 2, lens: 0.9, grid: 4, dots: []dot{{x: 70, y: 70, a: 4, b: 4, colour: rgb(0x1e70ff)}}}
	pic := Still(p.render(rand.New(rand.NewPCG(4, 2))))
	m, _, err := Find(pic, geometry.Point{X: 76, Y: 70})
	require.NoError(t, err)
	assert.InDelta(t, 70, m.At.X, 0.5)
	_, _, err = Find(pic, geometry.Point{X: 78, Y: 70})
	assert.Error(t, err)
}

// Of every candidate it is known whether its place had the ink one frame before, and one frame after.
func TestWhatWasThere(t *testing.T) {
	picture := func(x float64) Picture {
		p := paint{w: 120, h: 60, lens: 0.8, grid: 4, back: plain(0xc8c4bc)}
		for _, at := range []float64{20, x} {
			p.dots = append(p.dots, dot{x: at, y: 30, a: 6, b: 6, colour: rgb(0xd02020)})
		}
		return Still(p.render(nil))
	}
	var q pointer
	f, err := q.at(picture(50), ptOf(20, 30))
	require.Nil(t, err)
	s := newScanner([]found{f})
	var all [3][]candidate
	for i, x := range []float64{50, 80, 80} {
		all[i] = s.scan(picture(x))[0]
		require.Len(t, all[i], 2)
	}
	for i := range all {
		for n, want := range [2][3][2]float64{{{0, 1}, {1, 1}, {1, 0}}, {{0, 0}, {0, 1}, {1, 0}}} {
			c := all[i][n]
			assert.Equal(t, want[i], [2]float64{c.before, c.after}, "frame %d, dot %d", i, n)
		}
	}
}
