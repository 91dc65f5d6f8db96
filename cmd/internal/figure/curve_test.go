package figure

import (
	"image"
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"

	xdraw "golang.org/x/image/draw"
)

// hill returns a track of one second whose angle is a parabola with its maximum of 160
// degrees at half a second; frames 20 to 24 have no angle.
func hill() *reading.Track {
	t := &reading.Track{Landmarks: []string{"hip"}}
	for i := range 61 {
		s := float64(i) / 60
		f := reading.TrackFrame{Frame: i, TimeS: s, AngleDeg: 160 - 200*(s-0.5)*(s-0.5), SDDeg: 2}
		if i >= 20 && i < 25 {
			f.AngleDeg, f.SDDeg = math.NaN(), math.NaN()
		}
		t.Frames = append(t.Frames, f)
	}
	return t
}

// The drawn line, found by its colour, agrees with a parabola through its end and its
// maximum.
func TestCurveIsAParabola(t *testing.T) {
	c := Curve{Title: "hip split", Who: "leap.mp4", Track: hill(), Peak: &reading.Peak{TimeS: 0.5, AngleDeg: 160, HeldDeg: 10, HeldS: 0.45}, Asked: &reading.SkillRef{ThresholdDeg: 180}}
	img, err := DrawCurve(c, Options{Width: 960})
	require.NoError(t, err)
	top := map[int]float64{} // by column, the mean row of the accent
	b := img.Bounds()
	left, right := b.Dx(), 0
	for x := range b.Dx() {
		var sum, n float64
		for y := range b.Dy() {
			if near(img, x, y, draw.Measured) {
				sum, n = sum+float64(y), n+1
			}
		}
		if n > 0 {
			top[x] = sum / n
			left, right = min(left, x), max(right, x)
		}
	}
	require.Greater(t, right-left, 700)
	mid := (left + right) / 2
	foot, peak := top[left+2], top[mid+8] // beside the notch, which covers the very top
	height := foot - peak
	const stroke = 3 // px
	for x, y := range top {
		u := (float64(x) - float64(left+right)/2) / (float64(right-left) / 2)
		assert.InDelta(t, foot-height*(1-u*u), y, stroke, "column %d", x)
	}
	hole := 0
	for x := left; x < right; x++ {
		if _, ok := top[x]; !ok {
			hole++
		}
	}
	// no line from frame 19 to frame 25, a tenth of a second; the notch hides a little more
	assert.InDelta(t, float64(right-left)/10, hole, 0.03*float64(right-left))
}

// near reports whether a pixel has a colour, with a tolerance for antialiasing.
func near(img image.Image, x, y int, c color.NRGBA) bool {
	r, g, b, _ := img.At(x, y).RGBA()
	d := math.Abs(float64(r>>8)-float64(c.R)) + math.Abs(float64(g>>8)-float64(c.G)) + math.Abs(float64(b>>8)-float64(c.B))
	return d < 40
}

func TestCurveRefuses(t *testing.T) {
	empty := hill()
	for i := range empty.Frames {
		empty.Frames[i].AngleDeg = math.NaN()
	}
	for _, track := range []*reading.Track{nil, {}, empty} {
		_, err := DrawCurve(Curve{Track: track}, Options{})
		var e *fault.Error
		require.ErrorAs(t, err, &e)
		assert.NotEmpty(t, e.Hint())
	}
}

// An overlay has the picture's size and does not change pixels far from the fan.
func TestOverlay(t *testing.T) {
	ground := image.NewRGBA(image.Rect(0, 0, 1280, 720))
	xdraw.Draw(ground, ground.Rect, image.NewUniform(color.RGBA{200, 200, 200, 255}), image.Point{}, xdraw.Src)
	img, err := Overlay(ground, nil, "a sticker is not seen")
	require.NoError(t, err)
	assert.Equal(t, ground.Bounds(), img.Bounds())
	r, _, _, _ := img.At(1000, 100).RGBA()
	assert.EqualValues(t, 200, r>>8)
	changed := 0
	for x := range 400 {
		for y := 640; y < 720; y++ {
			if v, _, _, _ := img.At(x, y).RGBA(); v>>8 != 200 {
				changed++
			}
		}
	}
	assert.Greater(t, changed, 100, "the words stand in the corner")
}
