package sticker

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// stripes paints upright stripes of several colours, 3 codes of noise in each, and moves their
// chroma to the right by off: by mixing columns, in YCbCr after ITU-R BT.709.
func stripes(off float64) *image.RGBA {
	rnd := rand.New(rand.NewPCG(8, 9))
	colours := []color.RGBA{{200, 60, 50, 255}, {90, 160, 80, 255}, {230, 220, 200, 255}, {40, 60, 160, 255}, {190, 170, 60, 255}}
	const w, h, wide = 640, 300, 23
	at := func(x int) (y, cb, cr float64) {
		c := colours[max(x, 0)/wide%len(colours)]
		r, g, b := float64(c.R), float64(c.G), float64(c.B)
		y = 0.2126*r + 0.7152*g + 0.0722*b
		return y, (b - y) / 1.8556, (r - y) / 1.5748
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			luma, _, _ := at(x)
			// the place x - off lies between two columns
			n, part := x, -off
			if off > 0 {
				n, part = x-1, 1-off
			}
			_, b0, r0 := at(n)
			_, b1, r1 := at(n + 1)
			cb, cr := b0+part*(b1-b0), r0+part*(r1-r0)
			r, b := luma+1.5748*cr, luma+1.8556*cb
			g := (luma - 0.2126*r - 0.0722*b) / 0.7152
			code := func(v float64) uint8 { return uint8(min(max(v+3*rnd.NormFloat64(), 0), 255)) }
			out.SetRGBA(x, y, color.RGBA{code(r), code(g), code(b), 255})
		}
	}
	return out
}

// What lies in the picture tells how far its colours lie off, within its stated uncertainty.
func TestEdgesTellHowFarColoursLieOff(t *testing.T) {
	for _, off := range []float64{-0.5, 0, 0.5} {
		var e edges
		e.see(Still(stripes(off)))
		is, variance := e.off()
		assert.InDelta(t, off, is, edgesSD, "%v", off)
		assert.Less(t, variance, 0.25*0.25, "half a pixel is told from nothing")
	}
}

// A picture without an edge tells nothing.
func TestNoEdges(t *testing.T) {
	var e edges
	e.see(Still(image.NewRGBA(image.Rect(0, 0, 64, 64))))
	_, variance := e.off()
	assert.True(t, math.IsInf(variance, 1))
}
