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
