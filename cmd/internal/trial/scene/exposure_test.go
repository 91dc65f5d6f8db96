package scene

import (
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// checkStickers compares the drawn middles of a frame's stickers with the stated ones.
func checkStickers(t *testing.T, s *Scene, frame int, near float64) {
	t.Helper()
	with, truth := s.Frame(frame)
	bare := *s
	bare.Stickers = nil
	without, _ := bare.Frame(frame)
	for _, k := range truth.Stickers {
		if k.Visible < 1 {
			continue
		}
		x, y := centroid(with, without, k.Pixel, k.RadiusPx+6)
		assert.InDelta(t, k.Pixel[0], x, near, "frame %d %s x", frame, k.Landmark)
		assert.InDelta(t, k.Pixel[1], y, near, "frame %d %s y", frame, k.Landmark)
	}
}

// The streak of a moving sticker has its middle where the sticker is at
// mid-exposure. The tolerance is twice stickerTolerance because the background of the
// streak changes during the exposure.
func TestBlurredStickers(t *testing.T) {
	s := smallLeap(t)
	s.Shutter = 1.0 / 240
	checkStickers(t, s, 30, 2*stickerTolerance)
	checkStickers(t, s, 49, 2*stickerTolerance)
}

// With a rolling shutter a point is displaced by its speed in the picture times the
// delay of its row.
func TestRollingShutter(t *testing.T) {
	s := smallLeap(t)
	still := s.Truth(30)
	before, after := s.Body.Joints(s.Motion.At(s.Time(30)-0.001)), s.Body.Joints(s.Motion.At(s.Time(30)+0.001))
	s.Readout = 0.020
	rolled := s.Truth(30)
	for _, name := range []string{"front-ankle", "back-ankle", "hip"} {
		a, b := must(before.At(name)), must(after.At(name))
		ax, ay, _ := s.Camera.Project(a)
		bx, by, _ := s.Camera.Project(b)
		was, is := must(still.Mark(name)), must(rolled.Mark(name))
		delay := s.Readout * (is.Pixel[1] - float64(s.Camera.Height-1)/2) / float64(s.Camera.Height)
		const curved = 0.15 // px: a limb's acceleration, under 150 m/s2, over 5 ms at 200 px/m
		assert.InDelta(t, was.Pixel[0]+(bx-ax)/0.002*delay, is.Pixel[0], curved, name)
		assert.InDelta(t, was.Pixel[1]+(by-ay)/0.002*delay, is.Pixel[1], curved, name)
	}
	ankle := must(rolled.Mark("front-ankle"))
	assert.Greater(t, math.Abs(ankle.Pixel[0]-must(still.Mark("front-ankle")).Pixel[0]), 0.5, "px: the shutter has an effect")
	checkStickers(t, s, 30, stickerTolerance)
}

func must[T any](v T, ok bool) T {
	if !ok {
		panic("not there")
	}
	return v
}

func TestHandHeldStickers(t *testing.T) {
	s := smallLeap(t)
	s.Shake = Shake{Turn: 0.004, Shift: 0.006, Seed: 3}
	checkStickers(t, s, 40, stickerTolerance)
	a, b := s.Truth(40), s.Truth(43)
	assert.NotEqual(t, a.Camera, b.Camera)
}

func TestBentStickers(t *testing.T) {
	s := smallLeap(t)
	s.Camera.Lens = Lens{-0.22, 0.06, 0.002, -0.001, 0}
	straight := must(smallLeap(t).Truth(26).Sticker("back-ankle")).Pixel
	bent := must(s.Truth(26).Sticker("back-ankle")).Pixel
	assert.Greater(t, math.Hypot(straight[0]-bent[0], straight[1]-bent[1]), 1.0, "px: the lens has an effect")
	checkStickers(t, s, 26, stickerTolerance)
	checkStickers(t, s, 47, stickerTolerance)
}

// A worked example, by hand from the formula: r2 = 0.13, radial 0.97486697.
func TestLensByHand(t *testing.T) {
	l := Lens{-0.2, 0.05, 0.001, -0.002, 0.01}
	x, y := l.Bend(0.3, -0.2)
	assert.InDelta(t, 0.291720091, x, 1e-9)
	assert.InDelta(t, -0.194523394, y, 1e-9)
	x, y = l.Unbend(x, y)
	assert.InDelta(t, 0.3, x, 1e-12)
	assert.InDelta(t, -0.2, y, 1e-12)
}

// A hand's shake is smooth and has the spread it was given.
func TestShake(t *testing.T) {
	k := Shake{Turn: 0.004, Shift: 0.006, Seed: 5}
	c := LookAt(640, 360, 800, Vec{Y: 1}, 6)
	assert.Equal(t, c, Shake{}.move(c, 3))
	var yaw, shift float64
	const n = 20000
	last := k.move(c, 0)
	for i := range n {
		m := k.move(c, float64(i)*0.01)
		yaw += sq(m.Yaw) / n
		shift += sq(m.Position().X-c.Position().X) / n
		assert.Less(t, math.Abs(m.Yaw-last.Yaw), 0.003, "rad in 10 ms")
		last = m
	}
	assert.InDelta(t, k.Turn, math.Sqrt(yaw), 0.05*k.Turn)
	assert.InDelta(t, k.Shift, math.Sqrt(shift), 0.05*k.Shift)
}

// Noise has the variance Read^2 + Shot^2 light and no bias, in linear light.
func TestNoise(t *testing.T) {
	n := Noise{Read: 0.004, Shot: 0.012}
	g := newGrain(7, 1, 2)
	for _, light := range []float32{0.02, 0.3, 0.9} {
		var sum, square, fourth float64
		const draws = 400000
		for range draws {
			v := float64(n.amount(light) * g.next())
			sum += v / draws
			square += v * v / draws
			fourth += sq(v*v) / draws
		}
		want := sq(n.Read) + sq(n.Shot)*float64(light)
		// four standard errors of a mean and of a variance of normal draws
		assert.InDelta(t, 0, sum, 4*math.Sqrt(want/draws))
		assert.InDelta(t, want, square, 4*want*math.Sqrt(2.0/draws))
		assert.InDelta(t, 3, fourth/sq(square), 0.1, "a normal distribution's kurtosis")
	}
}

// The noise in a picture: a patch of wall with noise against the same without.
func TestNoiseInThePicture(t *testing.T) {
	s := smallLeap(t)
	s.Camera = LookAt(200, 120, 900, Vec{X: 1, Y: 2}, 6)
	clean, _ := s.Frame(0)
	s.Noise = Noise{Read: 0.02, Shot: 0.04}
	noisy, _ := s.Frame(0)
	var sum, square, light float64
	n := 0
	for y := 10; y < 60; y++ {
		for x := 100; x < 190; x++ {
			a, b := clean.(*image.RGBA).RGBAAt(x, y), noisy.(*image.RGBA).RGBAAt(x, y)
			l := linear(float64(a.G))
			d := linear(float64(b.G)) - l
			sum += d
			square += d * d
			light += l
			n++
		}
	}
	mean := light / float64(n)
	want := sq(0.02) + sq(0.04)*mean
	// the 8-bit steps add a twelfth of a step squared, a step being under 0.009 here
	assert.InDelta(t, want, square/float64(n), 4*want*math.Sqrt(2.0/float64(n))+sq(0.009)/12)
	assert.InDelta(t, 0, sum/float64(n), 5*math.Sqrt(want/float64(n)))
}

// A frame under changing light is the same picture times the gain, in linear light.
func TestLightChanges(t *testing.T) {
	s := smallLeap(t)
	s.Camera = LookAt(200, 120, 900, Vec{X: 1, Y: 2}, 6)
	plain, _ := s.Frame(0)
	s.Light = Light{Dim: 0.5, Warm: 0.2, Sweep: 0.3, Beat: 0.8}
	for _, i := range []int{0, 13, 24} {
		p, _ := s.Frame(i)
		for _, x := range []int{120, 180} {
			a, b := plain.(*image.RGBA).RGBAAt(x, 40), p.(*image.RGBA).RGBAAt(x, 40)
			g := s.Light.gain(s.Time(i), float64(x)/200-0.5)
			const step = 0.010 // linear light: one step of 8 bits in each picture
			assert.InDelta(t, g.r*linear(float64(a.R)), linear(float64(b.R)), step)
			assert.InDelta(t, g.b*linear(float64(a.B)), linear(float64(b.B)), step)
		}
	}
	assert.Equal(t, grey(1), Light{}.gain(3, 0.2))
}

// Moments are averaged in linear light, before the sRGB curve: a pixel that a dark
// square covers for half of the exposure has half of the light, not half of the 8-bit
// value.
func TestBlurIsAveragedInLinearLight(t *testing.T) {
	s := &Scene{
		Camera: LookAt(200, 120, 400, Vec{}, 1), Hall: PlainHall(), FPS: 60, Frames: 2, Shutter: 1.0 / 100,
		Boards: []*Board{{Columns: 2, Rows: 2, Square: 0.1, Path: func(t float64) BoardPose {
			return BoardPose{At: Vec{X: 0.05 + 5*t}} // 20 px through the exposure
		}}},
	}
	s.Camera.CX = 100 // an edge passes the middle of the column 100 in mid-exposure
	p, _ := s.Frame(0)
	px := p.(*image.RGBA)
	white, dark := linear(float64(px.RGBAAt(120, 50).G)), linear(float64(px.RGBAAt(80, 50).G))
	if white < dark {
		white, dark = dark, white
	}
	require.Greater(t, white, 20*dark)
	half := linear(float64(px.RGBAAt(100, 50).G))
	assert.InDelta(t, (white+dark)/2, half, 0.04*white, "within one of the moments that make up the exposure")
}
