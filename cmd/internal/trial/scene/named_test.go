package scene

import (
	"image"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every named scene can be drawn, has a description and all its stickers, and moves.
func TestEveryNamedSceneDraws(t *testing.T) {
	for _, name := range Names() {
		t.Run(name, func(t *testing.T) {
			s, err := Named(name)
			require.NoError(t, err)
			require.NoError(t, s.Check())
			assert.NotEmpty(t, s.About)
			shrink(s, 6)
			i := s.PeakFrame()
			p, truth := s.Frame(i)
			assert.Equal(t, image.Rect(0, 0, 320, 180), p.Bounds())
			assert.Len(t, truth.Stickers, len(s.Stickers))
			other, _ := s.Frame((i + 9) % s.Frames)
			assert.Greater(t, rmsDiff(p.(*image.RGBA).Pix, other.(*image.RGBA).Pix), 1.0, "something moves")
		})
	}
}

func TestVariants(t *testing.T) {
	for _, name := range Names() {
		a, err := Variant(name, 7)
		require.NoError(t, err)
		b, err := Variant(name, 7)
		require.NoError(t, err)
		assert.Equal(t, a.Truth(9), b.Truth(9), name)
		c, err := Variant(name, 8)
		require.NoError(t, err)
		assert.NotEqual(t, a.Camera, c.Camera, name)
		require.NoError(t, c.Check())
	}
	// the peak falls in both halves of the time between two frames
	var low, high int
	for seed := uint64(1); seed <= 40; seed++ {
		s, err := Variant("plain", seed)
		require.NoError(t, err)
		at, deg := s.Peak()
		assert.Greater(t, deg, 120.0)
		if f := math.Mod(at*s.FPS, 1); f < 0.5 {
			low++
		} else {
			high++
		}
	}
	assert.GreaterOrEqual(t, low, 8)
	assert.GreaterOrEqual(t, high, 8)
}

// The ball hides the front ankle's sticker, and no other, for ten frames.
func TestHiddenForTenFrames(t *testing.T) {
	s, err := Named("hidden")
	require.NoError(t, err)
	plain, err := Named("plain")
	require.NoError(t, err)
	gone := 0
	for i := 25; i < 60; i++ {
		with, without := s.Truth(i), plain.Truth(i)
		if must(with.Sticker("front-ankle")).Visible == 0 {
			gone++
		}
		for _, name := range []string{"hip", "back-ankle"} {
			assert.Equal(t, must(without.Sticker(name)).Visible, must(with.Sticker(name)).Visible, "frame %d %s", i, name)
		}
		assert.Equal(t, 1.0, must(without.Sticker("front-ankle")).Visible, "frame %d", i)
	}
	assert.InDelta(t, 10, gone, 1)
}

// Two stickers of one colour meet on the picture and change sides.
func TestCrossing(t *testing.T) {
	s, err := Named("crossing")
	require.NoError(t, err)
	front, back := must(s.Truth(0).Sticker("front-ankle")), must(s.Truth(0).Sticker("back-ankle"))
	require.Equal(t, front.Colour, back.Colour)
	// at each change of sides: the vertical distance between the two
	turns, near := 0, 0
	lastX, lastY := front.Pixel[0]-back.Pixel[0], front.Pixel[1]-back.Pixel[1]
	for i := 1; i < s.Frames; i++ {
		tr := s.Truth(i)
		front, back = must(tr.Sticker("front-ankle")), must(tr.Sticker("back-ankle"))
		x, y := front.Pixel[0]-back.Pixel[0], front.Pixel[1]-back.Pixel[1]
		if x*lastX < 0 {
			turns++
			if gap := lastY + (y-lastY)*lastX/(lastX-x); math.Abs(gap) < 2*front.RadiusPx {
				near++
			}
		}
		lastX, lastY = x, y
	}
	assert.GreaterOrEqual(t, turns, 2)
	assert.GreaterOrEqual(t, near, 1, "one passes over the other")
}

// The second person is behind the athlete: she hides no sticker.
func TestPasserIsBehind(t *testing.T) {
	s, err := Named("passer")
	require.NoError(t, err)
	plain, err := Named("plain")
	require.NoError(t, err)
	for i := 0; i < 90; i += 3 {
		a, b := s.Truth(i), plain.Truth(i)
		assert.Equal(t, b.Stickers, a.Stickers)
	}
}

// The hands do not move while the shoulder settles.
func TestHandstandSettles(t *testing.T) {
	b := NewBody(1.52)
	m := Handstand{Shoulder: 190 * degree, Swing: -20 * degree}.Motion(b)
	first := must(b.Joints(m.At(0)).At("right-wrist"))
	for _, at := range []float64{0, 0.3, 0.9, 2, 8} {
		j := b.Joints(m.At(at))
		w := must(j.At("right-wrist"))
		assert.InDelta(t, 0, w.Sub(first).Norm(), exact)
		assert.Greater(t, must(j.At("right-ankle")).Y, 1.2)
		assert.Equal(t, "left", j.FacingName(), "kicked up to the right, the front looks left")
	}
	assert.InDelta(t, 170, b.Joints(m.At(0)).Angles()["shoulder-flexion"], 1e-6)
	assert.InDelta(t, 190, b.Joints(m.At(8)).Angles()["shoulder-flexion"], 0.01)
	assert.InDelta(t, 1.5, b.Joints(m.At(8)).Angles()["off-vertical"], 0.01)
}

func TestStraddlePeaks(t *testing.T) {
	b := NewBody(1.52)
	s := &Scene{
		Body: b, Motion: Straddle{Peak: 150 * degree}.Motion(b), Camera: LookAt(320, 180, 400, Vec{Y: 1}, 6), Hall: PlainHall(),
		FPS: 60, Frames: 70, Measure: "leg-separation",
	}
	at, deg := s.Peak()
	assert.InDelta(t, 150, deg, 0.01, "the legs are not quite in the plane: they come a little forward")
	assert.InDelta(t, 0.3+0.54*0.54, at, 0.02)
	assert.Equal(t, "camera", s.Truth(0).Facing)
}

// Somebody who walks keeps a foot on the floor.
func TestWalking(t *testing.T) {
	b := NewBody(1.66)
	m := walk{b: b, speed: -1.2, from: Vec{X: 1, Z: -1.5}}
	for i := range 40 {
		p := m.At(float64(i) * 0.05)
		assert.InDelta(t, 0, b.lowest(p), exact)
		assert.InDelta(t, 1-1.2*0.05*float64(i), p.Hips.X, exact)
	}
	assert.Equal(t, "left", b.Joints(m.At(0)).FacingName())
}
