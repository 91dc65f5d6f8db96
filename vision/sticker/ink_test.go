package sticker

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/vision/take"
)

var (
	blue  = vec{40, 100, 220}
	chalk = vec{205, 200, 190}
)

func mixed(a, b vec, share float64) vec { return a.add(b.sub(a), share) }

// A sticker in dimmer light and a pixel of its rim of more than half sticker have its ink; its ground and another colour do not.
func TestInkHasLightAndRim(t *testing.T) {
	k := newInk(blue, chalk, sym{})
	assert.True(t, k.has(blue))
	dim := vec{}.add(blue, 0.75) // half as light, as coded
	assert.True(t, k.has(dim))
	assert.True(t, k.has(mixed(blue, chalk, 0.4)))
	assert.False(t, k.has(mixed(blue, chalk, 0.6)), "more than half is the ground's")
	assert.False(t, k.has(chalk))
	assert.False(t, k.has(vec{40, 180, 60}))
	assert.Zero(t, k.distance(blue))
	assert.True(t, math.IsInf(k.distance(chalk), 1))
	d, share := k.mixed(mixed(blue, chalk, 0.3))
	assert.InDelta(t, 0.3, share, 1e-9)
	assert.InDelta(t, 0, d, 1e-9)
}

// A black ground does not have the ink, though dimmer light moves the sticker's colour towards it.
func TestInkOnBlack(t *testing.T) {
	green, black := vec{94, 199, 103}, vec{46, 66, 56}
	k := newInk(green, black, sym{})
	assert.True(t, k.has(vec{}.add(green, 0.8)))
	assert.False(t, k.has(black))
	assert.False(t, k.has(vec{}.add(black, 1.1)))
}

// The palette agrees with the inks for the colours in the middle of its cells.
func TestPaletteAgreesWithInks(t *testing.T) {
	a, b := newInk(blue, chalk, sym{}), newInk(vec{200, 40, 50}, chalk, sym{})
	p := newPalette([]*ink{&a, &b})
	rapid.Check(t, func(t *rapid.T) {
		c := [3]byte{rapid.Byte().Draw(t, "r"), rapid.Byte().Draw(t, "g"), rapid.Byte().Draw(t, "b")}
		at := take.ColourNumber(c[0], c[1], c[2])
		for n, k := range []*ink{&a, &b} {
			listed := p.inks[at]>>n&1 == 1
			middle := vec{float64(c[0]&^7) + 3.5, float64(c[1]&^7) + 3.5, float64(c[2]&^7) + 3.5}
			if listed != k.has(middle) {
				t.Fatalf("%v: ink %d is %v", c, n, listed)
			}
			if p.pure[at]>>n&1 == 1 && !listed {
				t.Fatalf("%v: pure and not of the ink", c)
			}
		}
	})
}

func TestInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var m sym
		for range 4 {
			f := func() float64 { return rapid.Float64Range(-5, 5).Draw(t, "v") }
			m.outer(vec{f(), f(), f()}, 1)
		}
		m = m.plus(sym{}, 0, 1)
		inv := m.inverse()
		v := vec{1, -2, 3}
		got := inv.times(m.times(v))
		if d := got.sub(v); !(math.Sqrt(d.dot(d)) <= 1e-6) {
			t.Fatalf("%v", got)
		}
	})
}

// Each of two inks in a picture has its own whole blobs, and regions that touch at a corner are one blob.
func TestBlobs(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 120, 90))
	fill := func(r image.Rectangle, c color.RGBA) {
		for y := r.Min.Y; y < r.Max.Y; y++ {
			for x := r.Min.X; x < r.Max.X; x++ {
				img.SetRGBA(x, y, c)
			}
		}
	}
	fill(img.Rect, color.RGBA{205, 200, 190, 255})
	one, two := color.RGBA{40, 100, 220, 255}, color.RGBA{200, 40, 50, 255}
	fill(image.Rect(10, 10, 22, 22), one)
	fill(image.Rect(22, 22, 30, 30), one) // at its corner
	fill(image.Rect(80, 40, 92, 52), one)
	fill(image.Rect(40, 60, 60, 66), two)
	a, b := newInk(blue, chalk, sym{}), newInk(vec{200, 40, 50}, chalk, sym{})
	th := cells{palette: newPalette([]*ink{&a, &b}), step: 2}
	th.load(Still(img))
	assert.InDelta(t, float64(6*6+4*4+6*6)/(60*45), th.share(0), 1e-9)
	var j joiner
	first := j.blobs(&th, 0, 0, 1e9)
	require.Len(t, first, 2)
	assert.Equal(t, blob{image.Rect(10, 10, 30, 30), 52, 52}, first[0])
	assert.Equal(t, blob{image.Rect(80, 40, 92, 52), 36, 36}, first[1])
	second := j.blobs(&th, 1, 0, 1e9)
	require.Len(t, second, 1)
	assert.Equal(t, image.Rect(40, 60, 60, 66), second[0].box)
	assert.Equal(t, 30, second[0].cells)
}

// Among many small things of the ink, the sticker is one of the candidates, wherever in the picture it is.
func TestCrowd(t *testing.T) {
	f := filmOf(1, wall)[0]
	rnd := rand.New(rand.NewPCG(1, 1))
	for range 60 {
		paintDisc(f, ptOf(6+rnd.Float64()*228, 6+rnd.Float64()*100), 3.5, magenta)
	}
	paintDisc(f, ptOf(200, 140), 9, magenta)
	q := pointer{}
	of, err := q.find(Still(f), ptOf(200, 140))
	require.Nil(t, err)
	s := newScanner([]found{of})
	n := 0
	for _, c := range s.scan(Still(f))[0] {
		if c.at.Sub(ptOf(200, 140)).Norm() < 1 {
			n++
		}
	}
	assert.Equal(t, 1, n)
}

// The palette of an ink with a low limit holds every colour along a channel that the ink has.
func TestNarrowInkIsWhole(t *testing.T) {
	k := newInk(vec{33, 99, 224}, vec{190, 170, 159}, sym{})
	k.limit = 1.6 * 1.6
	p := newPalette([]*ink{&k})
	for _, channel := range []vec{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}} {
		for d := -12; d <= 12; d++ {
			if c := k.mean.add(channel, float64(d)); k.has(c) {
				assert.NotZero(t, p.inks[take.ColourNumber(byte(c.r), byte(c.g), byte(c.b))], "%v", c)
			}
		}
	}
}

// If more things have a sticker's ink than are kept, those that look like the sticker are kept, not those with the colour of a mixture of sticker and
// ground, such as wood, which lies between a yellow sticker and dark ground.
func TestCandidatesKeptLookLikeTheSticker(t *testing.T) {
	const size, apart = 8, 20 // px
	picture := func(sticker color.RGBA, others int) Picture {
		img := image.NewRGBA(image.Rect(0, 0, 640, 400))
		square := func(x, y int, c color.RGBA) {
			draw.Draw(img, image.Rect(x, y, x+size, y+size), image.NewUniform(c), image.Point{}, draw.Src)
		}
		draw.Draw(img, img.Rect, image.NewUniform(color.RGBA{60, 40, 20, 255}), image.Point{}, draw.Src)
		for k := range others {
			square(10+apart*(k%30), 10+apart*(k/30), color.RGBA{130, 120, 50, 255}) // nearly 2/3 sticker, 1/3 ground
		}
		square(310, 370, sticker)
		return Still(img)
	}
	var q pointer
	f, err := q.find(picture(color.RGBA{165, 160, 65, 255}, 0), ptOf(313, 373))
	require.Nil(t, err)
	s := newScanner([]found{f})
	all := s.scan(picture(color.RGBA{165, 168, 65, 255}, mostCandidates+40))[0]
	require.Len(t, all, mostCandidates)
	assert.Less(t, all[0].at.Sub(ptOf(313.5, 373.5)).Norm(), 0.5, "the sticker comes first")
}
