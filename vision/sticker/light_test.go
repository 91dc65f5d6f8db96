package sticker

import (
	"image"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

func randomPixels(w, h int) *image.RGBA {
	rnd := rand.New(rand.NewPCG(1, 1))
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := range img.Pix {
		img.Pix[i] = uint8(rnd.IntN(256))
	}
	return img
}

// A score falls from 1 at the very colour to 0 three standard deviations away.
func TestScores(t *testing.T) {
	img := randomPixels(53, 41)
	var w window
	w.load(Still(img), img.Rect)
	c := target{hue: hueOf(0.3, 0.1, 0.4), near: 0.02, bright: 0.3}
	got := make([]float32, len(w.light))
	best := c.scores(w.light, got)
	assert.Equal(t, slices.Max(got), best)
	var whole thinned
	whole.load(Still(img), img.Rect, 1)
	coded := make([]float32, len(got))
	assert.Equal(t, best, c.scoresCoded(whole.pix, coded))
	assert.Equal(t, got, coded)
	some := 0
	for i, l := range w.light {
		h := hueOf(l[0], l[1], l[2])
		far := math.Hypot(h.from(c.hue)/float64(c.near), 2*float64((h.y-c.y)/((h.y+c.y)*c.bright))) / 3
		if far < 1 {
			some++
		}
		assert.InDelta(t, math.Max(0, 1-far*far), got[i], 1e-4)
	}
	assert.Greater(t, some, 10)
	one := [][3]float32{{0.3, 0.1, 0.4}}
	c.scores(one, got[:1])
	assert.InDelta(t, 1, got[0], 1e-4)
}

// Luma stays where it is, and the colours of a pixel come from where they are, between four others; what
// lies beyond an end of the window is as its end.
func TestRealign(t *testing.T) {
	img := randomPixels(23, 17)
	part := func(x, y int) (luma, cr, cb float64) {
		c := img.RGBAAt(min(max(x, 0), 22), min(max(y, 0), 16))
		luma = 0.2126*float64(c.R) + 0.7152*float64(c.G) + 0.0722*float64(c.B)
		return luma, (float64(c.R) - luma) / 1.5748, (float64(c.B) - luma) / 1.8556
	}
	for _, shift := range [][2]float32{{0.5, -0.25}, {-0.5, 0}, {0, 1.5}, {-3.25, 2}, {40, 0.5}, {-40, -40}} {
		w := window{shift: shift}
		w.load(Still(img), img.Rect)
		dx, fx := math.Modf(float64(shift[0]) + 100)
		dy, fy := math.Modf(float64(shift[1]) + 100)
		for y := range 17 {
			for x := range 23 {
				luma, _, _ := part(x, y)
				var cr, cb float64
				for i, wx := range [2]float64{1 - fx, fx} {
					for k, wy := range [2]float64{1 - fy, fy} {
						_, r, b := part(x+int(dx)-100+i, y+int(dy)-100+k)
						cr, cb = cr+wx*wy*r, cb+wx*wy*b
					}
				}
				r, b := luma+1.5748*cr, luma+1.8556*cb
				g := (luma - 0.2126*r - 0.0722*b) / 0.7152
				for k, v := range [3]float64{r, g, b} {
					v = math.Min(math.Max(v, 0), 255)
					// to the sixteenth of a code that the table has
					lo, hi := decoded(v-0.04), decoded(v+0.04)
					assert.True(t, float64(w.at(x, y)[k]) >= lo-1e-4 && float64(w.at(x, y)[k]) <= hi+1e-4, "%v: %d %d %d", shift, x, y, k)
				}
			}
		}
	}
}

// A thinned part holds every n-th pixel of every n-th row.
func TestThin(t *testing.T) {
	img := randomPixels(61, 47)
	var w thinned
	w.load(Still(img), image.Rect(5, 9, 58, 44), 4)
	assert.Equal(t, image.Rect(0, 0, 13, 8), w.Rectangle)
	for y := range 8 {
		for x := range 13 {
			c := img.RGBAAt(5+4*x+2, 9+4*y+2)
			assert.Equal(t, [4]byte{c.R, c.G, c.B, c.A}, w.pix[13*y+x])
		}
	}
}
