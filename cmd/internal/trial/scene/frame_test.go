package scene

import (
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// shrunk makes a scene's pictures smaller, for tests: the same view on fewer pixels.
func shrunk(s *Scene, by float64) *Scene {
	c := &s.Camera
	c.Width, c.Height = int(float64(c.Width)/by), int(float64(c.Height)/by)
	c.Focal /= by
	c.CX, c.CY = (c.CX+0.5)/by-0.5, (c.CY+0.5)/by-0.5
	return s
}

// small is the leap at half the usual size: no noise, no blur.
func small(t *testing.T) *Scene {
	t.Helper()
	s, err := Named("leap")
	require.NoError(t, err)
	s.Noise, s.Shutter = Noise{}, 0
	return shrunk(s, 2)
}

// centroid is the middle of a sticker's light: a picture with it against the
// same picture without it. A pixel that a sticker covers by the share a moves by
// a (sticker - ground) in linear light, so a is that move along the way from
// ground to sticker; no colour is assumed but the sticker's own, taken at its
// middle.
func centroid(with, without image.Image, at [2]float64, r float64) (x, y float64) {
	px := func(p image.Image, x, y int) rgb {
		c := p.(*image.RGBA).RGBAAt(x, y)
		return rgb{linear(float64(c.R)), linear(float64(c.G)), linear(float64(c.B))}
	}
	cx, cy := int(math.Round(at[0])), int(math.Round(at[1]))
	full := px(with, cx, cy)
	n := int(r*1.5) + 3
	var sum float64
	for j := -n; j <= n; j++ {
		for i := -n; i <= n; i++ {
			u, v := cx+i, cy+j
			if !(image.Point{u, v}).In(with.Bounds()) {
				continue
			}
			g, p := px(without, u, v), px(with, u, v)
			to := rgb{full.r - g.r, full.g - g.g, full.b - g.b}
			d := rgb{p.r - g.r, p.g - g.g, p.b - g.b}
			a := (d.r*to.r + d.g*to.g + d.b*to.b) / (to.r*to.r + to.g*to.g + to.b*to.b)
			sum += a
			x += a * float64(u)
			y += a * float64(v)
		}
	}
	return x / sum, y / sum
}

// stickerTrue is how near a drawn sticker's middle must be to where it is said
// to be, px: 49 rays a pixel place the edge to a seventh of a pixel at
// random, about 2 pi r edge pixels average it to under 0.02, and 8-bit steps add as
// much again.
const stickerTrue = 0.05

func TestStickersAreWhereTheyAreSaidToBe(t *testing.T) {
	s := small(t)
	for _, i := range []int{26, 34, 43, 52} {
		for _, k := range s.Truth(i).Stickers {
			assert.Equal(t, 1.0, k.Visible, "frame %d %s", i, k.Landmark)
		}
		checkStickers(t, s, i, stickerTrue)
	}
}

// A sticker that is drawn large, near and aslant has the middle of its picture
// where perspective eccentricity puts it, nearer to its near edge:
// f r^2 sin a cos a / (Z^2 - r^2 sin^2 a).
func TestDrawnEccentricity(t *testing.T) {
	var p Pose
	p.Arms[Left].Flexion, p.Arms[Right].Flexion = math.Pi, math.Pi
	s := &Scene{
		Body: NewBody(1.52), Motion: Held(p), Camera: LookAt(480, 480, 900, Vec{}, 1.2), Hall: PlainHall(), FPS: 1, Frames: 1,
		Stickers: []Sticker{{Landmark: "hip", RadiusMM: 90, Colour: magenta}},
	}
	s.Body.Girth = 0.2 // a body out of the sticker's way
	s.Camera.Yaw = 45 * degree
	// put the sticker in the middle, where the formula holds
	at := s.Truth(0).Stickers[0].World
	s.Camera.Target = Vec{at[0], at[1], at[2]}
	with, truth := s.Frame(0)
	s.Stickers = nil
	without, _ := s.Frame(0)
	k := truth.Stickers[0]
	require.Equal(t, 1.0, k.Visible)
	assert.InDelta(t, 239.5, k.Pixel[0], exact)
	r := 0.090
	off := 900 * r * r * 0.5 / (1.2*1.2 - r*r*0.5)
	require.Greater(t, off, 2.0, "px: far over the tolerance")
	x, y := centroid(with, without, k.Pixel, 900*r/1.2)
	// yaw takes the far right away, so the near edge is on the left
	assert.InDelta(t, 239.5-off, x, stickerTrue)
	assert.InDelta(t, 239.5, y, stickerTrue)
}

func TestStill(t *testing.T) {
	b, c := NewBody(1.52), LookAt(480, 320, 400, Vec{Y: 0.1}, 3)
	p := Pose{Hips: Vec{Y: 0.4}}.Split(140*degree, 0, Right)
	p.Arms[Right].Flexion = math.Pi // or it hangs before the hip
	stickers := []Sticker{{Landmark: "hip", Colour: magenta}, {Landmark: "front-knee", Colour: green, RadiusMM: 20}}
	with, truth := Still(b, p, c, stickers, "hip-split")
	assert.InDelta(t, 140, truth.Angles["hip-split"], exact)
	without, _ := Still(b, p, c, nil, "hip-split")
	require.Len(t, truth.Stickers, 2)
	for _, k := range truth.Stickers {
		require.Equal(t, 1.0, k.Visible)
		x, y := centroid(with, without, k.Pixel, k.RadiusPx)
		assert.InDelta(t, k.Pixel[0], x, 2*stickerTrue, "a small sticker has fewer rays")
		assert.InDelta(t, k.Pixel[1], y, 2*stickerTrue)
	}
}

func TestSameSceneSameBytes(t *testing.T) {
	a, b := small(t), small(t)
	for _, s := range []*Scene{a, b} {
		s.Camera.Width, s.Camera.Height = 480, 270
		s.Noise, s.Shutter = Noise{Read: 0.004, Shot: 0.01}, 1.0/240
	}
	p, pt := a.Frame(30)
	q, qt := b.Frame(30)
	assert.Equal(t, p.(*image.RGBA).Pix, q.(*image.RGBA).Pix)
	assert.Equal(t, pt, qt)
	again, _ := a.Frame(30)
	assert.Equal(t, p.(*image.RGBA).Pix, again.(*image.RGBA).Pix)
	b.Seed++
	q, _ = b.Frame(30)
	assert.NotEqual(t, p.(*image.RGBA).Pix, q.(*image.RGBA).Pix, "another seed, other noise")
}

// The widest split is the one asked for, between frames and after the top of
// the flight.
func TestLeapPeaks(t *testing.T) {
	b := NewBody(1.52)
	for _, want := range []float64{110, 163, 180, 196} {
		s := &Scene{
			Body: b, Motion: Leap{Peak: want * degree}.Of(b), Camera: LookAt(640, 360, 800, Vec{Y: 1}, 6),
			Hall: PlainHall(), FPS: 60, Frames: 90, Measure: "hip-split",
		}
		at, deg := s.Peak()
		assert.InDelta(t, want, deg, 1e-6)
		top, _ := highest(func(t float64) float64 { return s.Motion.At(t).Hips.Y }, 0.38, 0.96)
		assert.Greater(t, at, top+0.02, "s after the top")
		assert.LessOrEqual(t, s.Truth(s.PeakFrame()).Angles["hip-split"], deg)
	}
}

// In flight nothing but gravity moves the hips.
func TestFlightIsBallistic(t *testing.T) {
	m := Leap{}.Of(NewBody(1.52))
	const h = 0.01
	for s := 0.40; s < 0.94; s += 0.05 {
		a, b, c := m.At(s-h).Hips, m.At(s).Hips, m.At(s+h).Hips
		assert.InDelta(t, -gravity, (a.Y-2*b.Y+c.Y)/h/h, 1e-6)
		assert.InDelta(t, 0, (a.X-2*b.X+c.X)/h/h, 1e-6)
	}
}

func TestCheckNamesWhatIsWrong(t *testing.T) {
	for word, spoil := range map[string]func(*Scene){
		"motion":   func(s *Scene) { s.Motion = nil },
		"board":    func(s *Scene) { s.Boards = []*Board{{Columns: 1, Rows: 5, Square: 0.02}} },
		"stature":  func(s *Scene) { s.Body.Stature = math.NaN() },
		"focal":    func(s *Scene) { s.Camera.Focal = math.NaN() },
		"pixels":   func(s *Scene) { s.Camera.Width = 0 },
		"distance": func(s *Scene) { s.Camera.Distance = -1 },
		"frames":   func(s *Scene) { s.Frames = 0 },
		`"nose"`:   func(s *Scene) { s.Stickers = []Sticker{{Landmark: "nose"}} },
		"wall":     func(s *Scene) { s.Hall.WallZ = 0 },
		"shutter":  func(s *Scene) { s.Shutter = -1 },
	} {
		s := small(t)
		require.NoError(t, s.Check())
		spoil(s)
		assert.ErrorContains(t, s.Check(), word)
	}
	_, err := Named("leep")
	assert.ErrorContains(t, err, `"leep"`)
}

// A sticker that goes round an ankle is lighter where its skin looks up to the lamps; a flat one is of
// one tone. The leg is level there, and the light of the hall comes from above.
func TestStickerBentRoundALimb(t *testing.T) {
	upperOverLower := func(name string) float64 {
		s, err := Named(name)
		require.NoError(t, err)
		s.Noise = Noise{}
		img, truth := s.Frame(43)
		k, ok := truth.Sticker("front-ankle")
		require.True(t, ok)
		var half [2]float64
		for y := -6; y <= 6; y++ {
			for x := -4; x <= 4; x++ {
				_, g, _, _ := img.At(int(math.Round(k.Pixel[0]))+x, int(math.Round(k.Pixel[1]))+y).RGBA()
				if y < 0 {
					half[0] += linearOf(g)
				} else if y > 0 {
					half[1] += linearOf(g)
				}
			}
		}
		return half[0] / half[1]
	}
	// the halves' middles are about 3.5 of 10 px from the middle: of what skin turned by half a
	// radian to either side gets of the lamps, a fifth to two thirds over a radius, both times 0.35
	bent := upperOverLower("bent")
	assert.Greater(t, bent, 1+2*0.35*0.2)
	assert.Less(t, bent, 1+2*0.35*0.7)
	assert.InDelta(t, 1, upperOverLower("plain"), 0.01)
}

// linearOf is the light of a code from 0 to 65535, after IEC 61966-2-1.
func linearOf(code uint32) float64 {
	v := float64(code) / 65535
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}
