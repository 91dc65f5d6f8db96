package sticker

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// lean is how far beside its true place a sticker that is lit from one side is found, on the mean of
// the later pictures of a film, px.
func lean(t *testing.T, lit float64) float64 {
	const pictures, learned, radius = 20, 10, 10.0
	rnd := rand.New(rand.NewPCG(3, 9))
	var f film
	var at []geometry.Point
	for i := range pictures {
		d := dot{x: 36 + 0.37*float64(i), y: 40 + 0.21*float64(i), a: radius, b: radius, colour: rgb(0xb8b4ae)}
		d.lit = [2]float64{lit * 0.6, lit * -0.8}
		f = append(f, paint{w: 100, h: 96, back: plain(0x3a3f46), dots: []dot{d}, noise: 1.5, lens: 0.8, grid: 2}.render(rnd))
		at = append(at, geometry.Point{X: d.x, Y: d.y})
	}
	var off geometry.Vec
	err := Follow(context.Background(), f, []Seed{{Name: "ankle", At: at[0]}}, Options{}, func(fr Frame) error {
		require.Equal(t, Seen, fr.Marks[0].Seen)
		if fr.Index >= learned {
			off = off.Add(fr.Marks[0].At.Sub(at[fr.Index]).Scale(1.0 / (pictures - learned)))
		}
		return nil
	})
	require.NoError(t, err)
	return off.Norm()
}

// A sticker bent round an ankle and lit from one side is found where it is, also where it is told from
// what is around it by its brightness alone. Light that grows by g over the radius r of a disc has its
// middle g r / 4 beside the disc's own; of that a tenth is left at most.
func TestLitFromOneSide(t *testing.T) {
	const radius, g, left = 10.0, 0.25, 0.1
	assert.Less(t, lean(t, g), left*g*radius/4)
}

// A slope is learned from many pictures, and a small one is taken for none.
func TestShadingLearns(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 1))
	var bent, flat shading
	for range 120 {
		off := func() float64 { return 0.1 * rnd.NormFloat64() }
		bent.see([2]float64{0.3 + off(), -0.1 + off()}, 1.0/60)
		flat.see([2]float64{off(), off()}, 1.0/60)
	}
	// what is left of 0.1 after as many pictures as are remembered, some thirty, three times over
	const close = 3 * 0.1 / 5.5
	assert.InDelta(t, 0.3, bent.slope[0], close)
	assert.InDelta(t, -0.1, bent.slope[1], close)
	assert.Less(t, math.Hypot(flat.usual()[0], flat.usual()[1]), even)
	assert.InDelta(t, 0.3, bent.usual()[0], close+0.3*shadeFeign*shadeFeign/0.1)
	assert.Equal(t, [2]float64{}, (&shading{}).usual())
}
