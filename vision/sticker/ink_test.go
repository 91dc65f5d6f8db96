package sticker

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var (
	blue  = vec{40, 100, 220}
	chalk = vec{205, 200, 190}
)

func mixed(a, b vec, share float64) vec { return a.add(b.sub(a), share) }

// A sticker in dimmer light, and a pixel of its rim that it has most of, are of its ink; its ground is not, nor is another colour.
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

// A black ground is on the way of dimmer light, and is no sticker all the same.
func TestInkOnBlack(t *testing.T) {
	green, black := vec{94, 199, 103}, vec{46, 66, 56}
	k := newInk(green, black, sym{})
	assert.True(t, k.has(vec{}.add(green, 0.8)))
	assert.False(t, k.has(black))
	assert.False(t, k.has(vec{}.add(black, 1.1)))
}

// The palette agrees with the inks but for the coarseness of its steps.
func TestPaletteAgreesWithInks(t *testing.T) {
	a, b := newInk(blue, chalk, sym{}), newInk(vec{200, 40, 50}, chalk, sym{})
	p := newPalette([]*ink{&a, &b})
	rapid.Check(t, func(t *rapid.T) {
		c := [3]byte{rapid.Byte().Draw(t, "r"), rapid.Byte().Draw(t, "g"), rapid.Byte().Draw(t, "b")}
		at := index(c[0], c[1], c[2])
		for n, k := range []*ink{&a, &b} {
			said := p.of[at]>>n&1 == 1
			// the middle of the step is what is asked for
			middle := vec{float64(c[0]&^7) + 3.5, float64(c[1]&^7) + 3.5, float64(c[2]&^7) + 3.5}
			if said != k.has(middle) {
				t.Fatalf("%v: ink %d is %v", c, n, said)
			}
			if p.pure[at]>>n&1 == 1 && !said {
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

// Two inks in one picture: each has its own blobs, whole, and what touches at a corner hangs together.
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
	var th thinned
	th.load(Still(img), newPalette([]*ink{&a, &b}), 2)
	assert.InDelta(t, float64(6*6+4*4+6*6)/(60*45), th.share(0), 1e-9)
	first := th.blobs(0, 0, 1e9, nil)
	require.Len(t, first, 2)
	assert.Equal(t, blob{image.Rect(10, 10, 30, 30), 52, 52}, first[0])
	assert.Equal(t, blob{image.Rect(80, 40, 92, 52), 36, 36}, first[1])
	second := th.blobs(1, 0, 1e9, nil)
	require.Len(t, second, 1)
	assert.Equal(t, image.Rect(40, 60, 60, 66), second[0].box)
	assert.Equal(t, 30, second[0].cells)
}

// Where much has the ink, what is most like the sticker is kept, wherever in the picture it is.
func TestCrowd(t *testing.T) {
	f := roll(1, wall)[0]
	rnd := rand.New(rand.NewPCG(1, 1))
	for range 60 {
		blot(f, ptOf(6+rnd.Float64()*228, 6+rnd.Float64()*100), 3.5, magenta)
	}
	blot(f, ptOf(200, 140), 9, magenta)
	q := pointer{}
	of, err := q.at(Still(f), ptOf(200, 140))
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

// Of an ink that is taken narrowly the palette knows every colour along a channel that the ink has.
func TestNarrowInkIsWhole(t *testing.T) {
	k := newInk(vec{33, 99, 224}, vec{190, 170, 159}, sym{})
	k.limit = 1.6 * 1.6
	p := newPalette([]*ink{&k})
	for _, channel := range []vec{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}} {
		for d := -12; d <= 12; d++ {
			if c := k.mean.add(channel, float64(d)); k.has(c) {
				assert.NotZero(t, p.of[index(byte(c.r), byte(c.g), byte(c.b))], "%v", c)
			}
		}
	}
}
