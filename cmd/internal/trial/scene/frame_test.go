package scene

import (
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// shrink reduces a scene's resolution by a factor.
func shrink(s *Scene, by float64) *Scene {
	c := &s.Camera
	c.Width, c.Height = int(float64(c.Width)/by), int(float64(c.Height)/by)
	c.Focal /= by
	c.CX, c.CY = (c.CX+0.5)/by-0.5, (c.CY+0.5)/by-0.5
	return s
}

// smallLeap is the leap at half the resolution, without noise or motion blur.
func smallLeap(t *testing.T) *Scene {
	t.Helper()
	s, err := Named("leap")
	require.NoError(t, err)
	s.Noise, s.Shutter = Noise{}, 0
	return shrink(s, 2)
}

// centroid is the centroid of a sticker, from a picture with it and the same picture
// without it. A pixel that the sticker covers by the share a differs by
// a (sticker - background) in linear light, so a is the projection of the difference
// on sticker - background. The sticker's colour is taken at its middle.
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

// stickerTolerance is the tolerance of a drawn sticker's middle, px: 49 rays a pixel
// place the edge to a seventh of a pixel at random, about 2 pi r edge pixels average
// it to under 0.02, and 8-bit steps add as much again.
const stickerTolerance = 0.05

func TestStickersAreAtTheirStatedPositions(t *testing.T) {
	s := smallLeap(t)
	for _, i := range []int{26, 34, 43, 52} {
		for _, k := range s.Truth(i).Stickers {
			assert.Equal(t, 1.0, k.Visible, "frame %d %s", i, k.Landmark)
		}
		checkStickers(t, s, i, stickerTolerance)
	}
}

// The centroid of a large, near, oblique sticker is displaced from the projection of
// its middle by perspective eccentricity, towards its near edge:
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
	require.Greater(t, off, 2.0, "px: many times the tolerance")
	x, y := centroid(with, without, k.Pixel, 900*r/1.2)
	// yaw takes the far right away, so the near edge is on the left
	assert.InDelta(t, 239.5-off, x, stickerTolerance)
	assert.InDelta(t, 239.5, y, stickerTolerance)
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
		assert.InDelta(t, k.Pixel[0], x, 2*stickerTolerance, "a small sticker has fewer rays")
		assert.InDelta(t, k.Pixel[1], y, 2*stickerTolerance)
	}
}

func TestSameSceneSameBytes(t *testing.T) {
	a, b := smallLeap(t), smallLeap(t)
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
			Body: b, Motion: Leap{Peak: want * degree}.Motion(b), Camera: LookAt(640, 360, 800, Vec{Y: 1}, 6),
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
	m := Leap{}.Motion(NewBody(1.52))
	const h = 0.01
	for s := 0.40; s < 0.94; s += 0.05 {
		a, b, c := m.At(s-h).Hips, m.At(s).Hips, m.At(s+h).Hips
		assert.InDelta(t, -gravity, (a.Y-2*b.Y+c.Y)/h/h, 1e-6)
		assert.InDelta(t, 0, (a.X-2*b.X+c.X)/h/h, 1e-6)
	}
}

func TestCheckNamesTheInvalidField(t *testing.T) {
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
		s := smallLeap(t)
		require.NoError(t, s.Check())
		spoil(s)
		assert.ErrorContains(t, s.Check(), word)
	}
	_, err := Named("leep")
	assert.ErrorContains(t, err, `"leep"`)
}

// A sticker bent round an ankle is lighter where it faces up to the lamps; a flat one is uniform. The leg
// is level there, and the light of the hall comes from above.
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

// edgeCrossing finds the intersection of two straight edges of the board near a place,
// given their approximate directions. The sum of linear light across an edge gives the
// edge's exact position. A line is fitted to such positions on both sides of the
// crossing for each edge, and the two lines are intersected.
func edgeCrossing(p *image.RGBA, x, y float64, ways [2][2]float64) (float64, float64) {
	at := func(x, y int) float64 { return linear(float64(p.RGBAAt(x, y).G)) }
	var lines [2][3]float64 // a x + b y = c
	for i, w := range ways {
		steep := math.Abs(w[1]) > math.Abs(w[0])
		u0, v0, slope := x, y, w[1]/w[0]
		if steep {
			u0, v0, slope = y, x, w[0]/w[1]
		}
		get := func(u, v int) float64 {
			if steep {
				return at(v, u)
			}
			return at(u, v)
		}
		var n, su, sv, suu, suv float64
		for d := -11; d <= 11; d++ {
			if d > -6 && d < 6 { // the other edge is too near
				continue
			}
			u := int(math.Round(u0)) + d
			mid := int(math.Round(v0 + slope*(float64(u)-u0)))
			const half = 3
			first, last := get(u, mid-half), get(u, mid+half)
			edge := float64(mid-half) - 0.5
			for v := mid - half; v <= mid+half; v++ {
				edge += (get(u, v) - last) / (first - last)
			}
			fu := float64(u)
			n, su, sv, suu, suv = n+1, su+fu, sv+edge, suu+fu*fu, suv+fu*edge
		}
		k := (n*suv - su*sv) / (n*suu - su*su)
		c := (sv - k*su) / n // v = k u + c
		lines[i] = [3]float64{k, -1, -c}
		if steep {
			lines[i] = [3]float64{-1, k, -c}
		}
	}
	a, b := lines[0], lines[1]
	det := a[0]*b[1] - a[1]*b[0]
	return (a[2]*b[1] - a[1]*b[2]) / det, (a[0]*b[2] - a[2]*b[0]) / det
}

// A drawn corner is at its stated position: with lens distortion, at every tilt, and
// with a rolling shutter.
func TestCornersAreAtTheirStatedPositions(t *testing.T) {
	for name, spoil := range map[string]func(*Scene){
		"still": func(*Scene) {},
		"rolling": func(s *Scene) {
			s.Readout = 0.03
			turned := s.Boards[0].Path
			s.Boards[0].Path = func(t float64) BoardPose {
				p := turned(t)
				p.At = p.At.Add(Vec{X: 0.3, Y: -0.2}.Mul(t - math.Round(t)))
				return p
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := Named("board")
			require.NoError(t, err)
			s.Noise = Noise{}
			shrink(s, 2)
			spoil(s)
			n, worst := 0, 0.0
			var square float64
			for _, i := range []int{0, 3, 8, 13} {
				p, truth := s.Frame(i)
				b := truth.Boards[0]
				require.Len(t, b.Corners, 54)
				for row := 1; row < 5; row++ {
					for col := 1; col < 8; col++ {
						k := row*9 + col
						require.True(t, b.Visible[k], "picture %d corner %d", i, k)
						c, l, r, u, d := b.Corners[k], b.Corners[k-1], b.Corners[k+1], b.Corners[k-9], b.Corners[k+9]
						x, y := edgeCrossing(p.(*image.RGBA), c[0]+0.6, c[1]-0.4, [2][2]float64{{r[0] - l[0], r[1] - l[1]}, {d[0] - u[0], d[1] - u[1]}})
						off := math.Hypot(x-c[0], y-c[1])
						worst, square, n = max(worst, off), square+off*off, n+1
					}
				}
			}
			// An edge's place in one column of pixels is off by less than the step of 49 rays,
			// and twelve columns lie on a line; a lens bends an edge of 20 px by under 0.02 px.
			assert.Less(t, math.Sqrt(square/float64(n)), 0.015, "px, root mean square")
			assert.Less(t, worst, 0.05, "px")
			t.Logf("corners: root mean square %.4f px, worst %.4f px", math.Sqrt(square/float64(n)), worst)
		})
	}
}

// The sheet's corners are one square apart, row by row from the top left.
func TestBoardInSpace(t *testing.T) {
	b := Board{Columns: 9, Rows: 6, Square: 0.024}
	s := b.sheet(0)
	assert.InDelta(t, -0.096, s.corner(0, 0).X, exact)
	assert.InDelta(t, 0.060, s.corner(0, 0).Y, exact)
	assert.InDelta(t, 0.024, s.corner(1, 0).Sub(s.corner(0, 0)).X, exact)
	assert.InDelta(t, -0.024, s.corner(0, 1).Sub(s.corner(0, 0)).Y, exact)
	middle := Vec{X: -0.108, Y: 0.072}
	assert.True(t, s.inked(middle), "the first square, top left")
	assert.False(t, s.inked(middle.Add(Vec{X: 0.024})))
	assert.False(t, s.inked(Vec{X: -0.125, Y: 0.085}), "the rim")
	assert.True(t, s.inked(middle.Add(Vec{X: 9 * 0.024, Y: -6 * 0.024}).Add(Vec{X: -0.024})))
}

// The scene's boards are wholly in the picture at every tilt and cover most of it.
func TestBoardSceneCoversThePicture(t *testing.T) {
	for seed := range uint64(6) {
		s, err := Variant("board", seed)
		require.NoError(t, err)
		lo, hi := [2]float64{1e9, 1e9}, [2]float64{}
		for i := range s.Frames {
			b := s.Truth(i).Boards[0]
			for k, c := range b.Corners {
				require.True(t, b.Visible[k], "seed %d picture %d", seed, i)
				lo = [2]float64{min(lo[0], c[0]), min(lo[1], c[1])}
				hi = [2]float64{max(hi[0], c[0]), max(hi[1], c[1])}
			}
		}
		assert.Greater(t, hi[0]-lo[0], 0.7*1920)
		assert.Greater(t, hi[1]-lo[1], 0.7*1080)
	}
}

// Frames of the leap at 1080p, the empty hall drawn beforehand.
func BenchmarkFrame(b *testing.B) {
	for name, shutter := range map[string]float64{"sharp": 0, "blurred": 1.0 / 240} {
		b.Run(name, func(b *testing.B) {
			s, err := Named("leap")
			if err != nil {
				b.Fatal(err)
			}
			s.Shutter = shutter
			s.Frame(0)
			b.ResetTimer()
			for i := range b.N {
				s.draw(i % s.Frames)
			}
		})
	}
}

// The empty hall at 1080p, drawn once for a camera that stands still.
func BenchmarkHall(b *testing.B) {
	s, err := Named("leap")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s.emptyHall = nil
		s.stage()
	}
}
