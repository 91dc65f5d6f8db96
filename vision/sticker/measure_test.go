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

func ptOf(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

// measuredAt finds the sticker at a place of a painted picture.
func measuredAt(t *testing.T, p paint, at geometry.Point) found {
	t.Helper()
	var q pointer
	f, err := q.find(Still(p.render(rand.New(rand.NewPCG(3, 4)))), at)
	require.Nil(t, err)
	return f
}

// Half of the ground is skin, the other half wall: both have a share of 0 along the axis between ground and sticker, and do not shift the
// centre.
func TestCentreOnTwoGrounds(t *testing.T) {
	for _, turn := range []float64{0, 0.7, 1.6, 2.9} {
		s, c := math.Sincos(turn)
		p := paint{w: 90, h: 90, lens: 0.9, noise: 1.5, grid: 4, back: func(x, y float64) [3]float64 {
			if c*(x-45)+s*(y-45) > 2 {
				return rgb(0xd6d2cb)
			}
			return rgb(0xa87254)
		}, dots: []dot{{x: 45.3, y: 44.6, a: 9, b: 9, colour: rgb(0x1e6eff)}}}
		f := measuredAt(t, p, ptOf(45, 45))
		assert.Less(t, f.at.Sub(ptOf(45.3, 44.6)).Norm(), 0.35, "turned by %g", turn)
		assert.InEpsilon(t, math.Pi*81, f.area, 0.12)
	}
}

// The colour of the ground on one side lies between that on the other side and the sticker's, so that no axis gives both a share of 0. With the
// ground interpolated at each pixel, and the outer rim left out, the centre shifts by 0.3 px; it shifts by 0.7 px with the rim and by 1.7 px with one mean ground. The shape
// is that of a disc.
func TestGroundBetweenGroundAndSticker(t *testing.T) {
	skin, ink := rgb(0xb88a70), rgb(0x2b9a93)
	for _, turn := range []float64{0, 0.8, 2.5} {
		s, c := math.Sincos(turn)
		p := paint{w: 90, h: 90, lens: 0.9, noise: 1.5, grid: 4, back: func(x, y float64) (v [3]float64) {
			share := 0.0
			if c*(x-45)+s*(y-45) > 2 {
				share = 0.35
			}
			for i := range v {
				v[i] = skin[i] + share*(ink[i]-skin[i])
			}
			return v
		}, dots: []dot{{x: 45.3, y: 44.6, a: 6, b: 6, colour: ink}}}
		f := measuredAt(t, p, ptOf(45, 45))
		assert.Less(t, f.at.Sub(ptOf(45.3, 44.6)).Norm(), 0.4, "turned by %g", turn)
		assert.InDelta(t, 1, f.long/f.short, 0.25)
	}
}

// The centres of discs, ellipses and motion blur are right, that of motion blur in the middle of the exposure.
func TestCentresOfAllShapes(t *testing.T) {
	for name, d := range map[string]dot{
		"disc":    {a: 8, b: 8},
		"small":   {a: 3.5, b: 3.5},
		"ellipse": {a: 12, b: 6, turn: 0.6},
		"streak":  {a: 8, b: 8, vx: 11, vy: 5},
	} {
		d.x, d.y, d.colour = 50.4, 49.7, rgb(0xd01ef0)
		f := measuredAt(t, paint{w: 100, h: 100, lens: 0.8, noise: 1.5, grid: 4, times: 24, back: uniform(0x33465c), dots: []dot{d}}, ptOf(50, 50))
		assert.Less(t, f.at.Sub(ptOf(50.4, 49.7)).Norm(), 0.15, name)
		if name != "streak" {
			assert.InEpsilon(t, math.Pi*d.a*d.b, f.area, 0.35, name) // counted from below half of a pixel
		}
		assert.Less(t, math.Sqrt(f.cov[0][0]), 0.3, name)
	}
}

// Another sticker of its colour that does not touch it does not shift the centre.
func TestOtherBeside(t *testing.T) {
	p := paint{w: 110, h: 80, lens: 0.8, noise: 1.5, grid: 4, back: uniform(0x33465c), dots: []dot{
		{x: 40.3, y: 40.2, a: 8, b: 8, colour: rgb(0xd01ef0)}, {x: 61, y: 40, a: 8, b: 8, colour: rgb(0xd01ef0)},
	}}
	f := measuredAt(t, p, ptOf(40, 40))
	assert.Less(t, f.at.Sub(ptOf(40.3, 40.2)).Norm(), 0.25)
}

// A sticker at the picture's edge is marked as cut, and a thing that continues beyond the window is no candidate.
func TestCutAndJoined(t *testing.T) {
	red := rgb(0xd02020)
	p := paint{w: 100, h: 80, grid: 4, back: uniform(0xc8c4bc), dots: []dot{{x: 4, y: 40, a: 9, b: 9, colour: red}, {x: 60, y: 40, a: 9, b: 9, colour: red}}}
	img := Still(p.render(nil))
	k := newInk(vec{208, 32, 32}, vec{200, 196, 188}, sym{})
	var m measurer
	c, ok := m.measure(img, &k, image.Rect(0, 31, 13, 49))
	require.True(t, ok)
	assert.True(t, c.cut)
	c, ok = m.measure(img, &k, image.Rect(51, 31, 69, 49))
	require.True(t, ok)
	assert.False(t, c.cut)
	p.dots[1] = dot{x: 60, y: 40, a: 60, b: 9, colour: red}
	_, ok = m.measure(Still(p.render(nil)), &k, image.Rect(51, 31, 69, 49))
	assert.False(t, ok)
}

// A ball with a light side and a dark side is found whole from several places on it.
func TestWholeBallIsFound(t *testing.T) {
	p := paint{w: 100, h: 100, lens: 0.9, noise: 1.5, grid: 4, back: uniform(0x2b2b28), dots: []dot{{x: 50, y: 50, a: 11, b: 11, colour: rgb(0xd84030), lit: [2]float64{0.1, 0.45}}}}
	for _, o := range [][2]float64{{0, 0}, {0, 5}, {0, -5}, {4, 2}} {
		f := measuredAt(t, p, ptOf(50+o[0], 50+o[1]))
		assert.InDelta(t, 11, f.radius(), 1.2, "pointed at %v", o)
		// light that grows by a part k over the radius r puts the centroid k r/4 off: 0.46 of 11 px, 1.27 px
		assert.Less(t, f.at.Sub(ptOf(50, 50)).Norm(), 1.27+0.3, "pointed at %v", o)
	}
}

// On clothes of a similar colour the sticker is found, and not the clothes.
func TestStickerOnClothes(t *testing.T) {
	p := paint{w: 200, h: 200, lens: 0.8, noise: 1.5, grid: 3, back: uniform(0xd0cdc4), dots: []dot{
		{x: 100.2, y: 99.7, a: 9, b: 9, colour: rgb(0xf2c91c)}, {x: 100, y: 100, a: 24, b: 50, colour: rgb(0xe07010)},
	}}
	f := measuredAt(t, p, ptOf(100, 100))
	assert.InDelta(t, 9, f.radius(), 1)
	assert.Less(t, f.at.Sub(ptOf(100.2, 99.7)).Norm(), 0.3)
}

// A thing whose middle is far from the given place is not taken, though it reaches there.
func TestPointedAtItsMiddle(t *testing.T) {
	p := paint{w: 200, h: 200, lens: 0.8, noise: 1.5, grid: 3, back: uniform(0xd0cdc4), dots: []dot{{x: 100, y: 100, a: 20, b: 20, colour: rgb(0x9c1d1b)}}}
	img := Still(p.render(rand.New(rand.NewPCG(1, 1))))
	var q pointer
	_, err := q.find(img, ptOf(104, 103))
	require.Nil(t, err)
	f, _, ok := q.thingAt(img, image.Pt(100, 118))
	assert.False(t, ok, "%v", f.at)
}

// Skin has nearly the colour of an orange sticker in less light, but is not taken for a part of it.
func TestOnGroundOfItsHue(t *testing.T) {
	skin, mat := rgb(0x684636), rgb(0x9c5520)
	back := func(x, _ float64) [3]float64 {
		if x < 88 {
			return skin
		}
		return mat
	}
	img := paint{w: 160, h: 120, lens: 1, noise: 1.5, grid: 3, back: back, dots: []dot{{x: 80, y: 60, a: 4.8, b: 4.8, colour: rgb(0xaa6634)}}}.picture()
	var q pointer
	f, err := q.find(img, ptOf(81, 61))
	require.Nil(t, err)
	assert.Less(t, f.at.Sub(ptOf(80, 60)).Norm(), 0.5)
	assert.InDelta(t, 4.8, f.radius(), 1)
}

// A round sticker is found whole from a place near its rim, also where an encoder made a ring of another shade.
func TestPointedAtItsRim(t *testing.T) {
	img := paint{w: 160, h: 120, lens: 0.9, noise: 1.5, grid: 4, back: uniform(0xded9d4), dots: []dot{
		{x: 80.3, y: 59.6, a: 6.5, b: 6.5, colour: rgb(0x1e70ff)}, {x: 80.3, y: 59.6, a: 9, b: 9, colour: rgb(0x6a8ad8)},
	}}.picture()
	var q pointer
	for turn := range 16 {
		y, x := math.Sincos(float64(turn) * math.Pi / 8)
		f, err := q.find(img, ptOf(80.3+7.5*x, 59.6+7.5*y))
		require.Nil(t, err, "turn %d", turn)
		assert.Less(t, f.at.Sub(ptOf(80.3, 59.6)).Norm(), 0.5, "turn %d", turn)
		assert.InDelta(t, 9, f.radius(), 1.2, "turn %d", turn)
	}
}

// A sticker that hardly stands out from what it is stuck on is not found, nor is what it is stuck on, unless that was pointed at near its middle.
func TestPointedAtOnItsOwnColour(t *testing.T) {
	img := paint{w: 400, h: 300, lens: 0.8, noise: 1.5, grid: 3, back: uniform(0x30502c), dots: []dot{
		{x: 200, y: 150, a: 36, b: 36, colour: rgb(0xe87d10)}, {x: 222, y: 150, a: 4.7, b: 4.7, colour: rgb(0xdf7c1c)},
	}}.picture()
	var q pointer
	_, err := q.find(img, ptOf(222, 150))
	require.NotNil(t, err)
	assert.Contains(t, err.what, "its middle is 22 px off")
	f, err := q.find(img, ptOf(190, 150))
	require.Nil(t, err)
	assert.Less(t, f.at.Sub(ptOf(200, 150)).Norm(), 1.0)
}

// Of two alike stickers that touch, neither is found from its middle: together they are no sticker.
func TestPointedAtOneOfAPair(t *testing.T) {
	img := paint{w: 160, h: 120, lens: 0.8, noise: 1.5, grid: 3, back: uniform(0xd0cdc4), dots: []dot{
		{x: 80, y: 60, a: 9, b: 9, colour: rgb(0x9c1d1b)}, {x: 97.5, y: 60, a: 9, b: 9, colour: rgb(0x9c1d1b)},
	}}.picture()
	var q pointer
	_, err := q.find(img, ptOf(80, 60))
	assert.ErrorContains(t, err, "its middle is 9 px off")
}

// A place at the edge of a thing that is longer than wide does not find it.
func TestPointedAtItsEdge(t *testing.T) {
	img := paint{w: 160, h: 120, lens: 0.8, noise: 1.5, grid: 3, back: uniform(0xd0cdc4), dots: []dot{{x: 80, y: 60, a: 11, b: 9, colour: rgb(0x9c1d1b)}}}.picture()
	var q pointer
	_, err := q.find(img, ptOf(80, 66))
	require.Nil(t, err)
	_, err = q.find(img, ptOf(80, 68))
	assert.NotNil(t, err)
}

// The error tells whether a thing is too wide or too narrow for a sticker, or the place outside the picture.
func TestWhatIsNoSticker(t *testing.T) {
	var q pointer
	small := paint{w: 160, h: 120, lens: 0.6, noise: 1.5, grid: 3, back: uniform(0x4a3020), dots: []dot{{x: 80, y: 60, a: 1.7, b: 1.7, colour: rgb(0xc8ac48)}}}.picture()
	_, narrow := q.find(small, ptOf(80, 60))
	require.NotNil(t, narrow)
	assert.Contains(t, narrow.what, "narrower than a sticker must be, 5 px")
	img := paint{w: 160, h: 120, noise: 1.5, grid: 3, back: uniform(0xd0cdc4), dots: []dot{{x: 80, y: 60, a: 50, b: 40, colour: rgb(0x2060d0)}}}.picture()
	_, err := q.find(img, ptOf(80, 60))
	require.NotNil(t, err)
	assert.Contains(t, err.what, "wider than a sticker may be")
	_, err = q.find(img, ptOf(800, 60))
	require.NotNil(t, err)
	assert.Equal(t, BadSeed, err.Problem)
}

// dilated agrees with a search of all pixels.
func TestDilated(t *testing.T) {
	rnd := rand.New(rand.NewPCG(9, 9))
	for _, c := range [][3]int{{1, 1, 3}, {7, 5, 2}, {20, 13, 4}, {3, 30, 6}, {30, 3, 1}} {
		w, h, by := c[0], c[1], c[2]
		in := make([]bool, w*h)
		for i := range in {
			in[i] = rnd.Float64() < 0.04
		}
		out := dilated(nil, in, w, by)
		for y := range h {
			for x := range w {
				want := false
				for i, is := range in {
					dx, dy := i%w-x, i/w-y
					want = want || is && max(dx, -dx) <= by && max(dy, -dy) <= by
				}
				require.Equal(t, want, out[y*w+x], "%v at %d, %d", c, x, y)
			}
		}
	}
}

// The noisier the picture, the larger the stated covariance of a sticker's centre, in every direction.
func TestCovarianceGrowsWithNoise(t *testing.T) {
	before := 0.0
	for _, noise := range []float64{1, 4, 9} {
		f := measuredAt(t, paint{w: 100, h: 100, lens: 0.8, noise: noise, grid: 4, back: uniform(0x33465c), dots: []dot{{x: 50.4, y: 49.7, a: 8, b: 8, colour: rgb(0xd01ef0)}}}, ptOf(50, 50))
		least := (f.cov[0][0]+f.cov[1][1])/2 - math.Hypot((f.cov[0][0]-f.cov[1][1])/2, f.cov[0][1])
		t.Logf("noise %g: %.3f px", noise, math.Sqrt(least))
		assert.Greater(t, least, 1.05*before, "noise %g", noise)
		before = least
	}
}

// An encoder that stores little colour makes a darker ring about a sticker's middle. The sticker found is both, with its
// full radius.
func TestWholeStickerIsFound(t *testing.T) {
	const radius, middle, near = 8.0, 5.5, 0.4 // px
	rnd := rand.New(rand.NewPCG(4, 2))
	for _, ring := range []uint32{0x3c68c8, 0x3a5fd0, 0x2f62d8} {
		p := paint{w: 140, h: 140, back: uniform(0xded9d4), noise: 2, lens: 0.9, grid: 4, dots: []dot{
			{x: 70.3, y: 69.6, a: middle, b: middle, colour: rgb(0x1e70ff)},
			{x: 70.3, y: 69.6, a: radius, b: radius, colour: rgb(ring)},
		}}
		m, _, err := Find(Still(p.render(rnd)), geometry.Point{X: 69, Y: 70})
		require.NoError(t, err)
		assert.InDelta(t, radius, m.Radius, near, "a ring of #%06x", ring)
	}
}

// A place a little beside a small sticker finds it. One that is farther off, and may be on another thing, does not.
func TestPointedBesideASticker(t *testing.T) {
	p := paint{w: 140, h: 140, back: uniform(0xded9d4), noise: 2, lens: 0.9, grid: 4, dots: []dot{{x: 70, y: 70, a: 4, b: 4, colour: rgb(0x1e70ff)}}}
	pic := Still(p.render(rand.New(rand.NewPCG(4, 2))))
	m, _, err := Find(pic, geometry.Point{X: 76, Y: 70})
	require.NoError(t, err)
	assert.InDelta(t, 70, m.At.X, 0.5)
	_, _, err = Find(pic, geometry.Point{X: 78, Y: 70})
	assert.Error(t, err)
}
