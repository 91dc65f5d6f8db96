package figure

import (
	"image"
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/scene"
)

// The part shown has every landmark of the renderer's athlete, but for legs that carry
// no mark, and every pixel of the head, and keeps the shape asked for where the frame has the room.
func TestAroundHoldsTheAthlete(t *testing.T) {
	for name, p := range headPoses() {
		if p.measure != "hip-split" && p.measure != "shoulder-flexion" {
			continue
		}
		c := scene.LookAt(450, 300, 260, scene.Vec{Y: 1.25}, 4.6)
		b := scene.NewBody(1.5)
		_, tr := scene.Still(b, p.pose, c, nil, p.measure)
		r := &reading.Reading{Turn: 1, PictureAngleDeg: 170, AngleDeg: 170, IntervalDeg: [2]float64{166, 174}}
		at := map[string]reading.Placement{}
		for _, m := range placedMarks(tr, marked[p.measure]...) {
			r.Marks = append(r.Marks, reading.Mark{Landmark: m.Landmark, X: m.X, Y: m.Y})
			at[m.Landmark] = m
		}
		ends := [2][2]string{{"hip", "front-ankle"}, {"hip", "back-ankle"}}
		if p.measure == "shoulder-flexion" {
			ends = [2][2]string{{"shoulder", "hip"}, {"shoulder", "wrist"}}
		}
		for i, e := range ends {
			f, to := at[e[0]], at[e[1]]
			r.Lines[i] = reading.Line{From: e[0], To: e[1], FromX: f.X, FromY: f.Y, ToX: to.X, ToY: to.Y}
		}
		r.PictureAngleDeg = draw.Sweep(r)
		const ratio = 0.7
		got := Around(r, image.Pt(450, 300), ratio)
		frame := image.Rect(0, 0, 450, 300)
		assert.True(t, got.In(frame), name)
		for _, m := range tr.Marks {
			if k := draw.Part(m.Landmark); p.measure == "shoulder-flexion" && (k == "knee" || k == "ankle" || k == "toe") {
				continue
			}
			if at := image.Pt(int(m.Pixel[0]), int(m.Pixel[1])); at.In(frame) {
				assert.True(t, at.In(got), "%s: %s at %v is not in %v", name, m.Landmark, at, got)
			}
		}
		for _, h := range headPixels(b, p.pose, c) {
			require.True(t, h.In(got), "%s: the head at %v is not in %v", name, h, got)
		}
		if got.Dy() < 300 && got.Dx() < 450 {
			assert.InDelta(t, ratio, float64(got.Dy())/float64(got.Dx()), 0.02, name)
		}
		assert.Less(t, got.Dx()*got.Dy(), 450*300, "%s: and it is less than the frame", name)
	}
	none := &reading.Reading{Marks: []reading.Mark{{Landmark: "hip", X: 5, Y: 5}}}
	assert.Equal(t, image.Rect(0, 0, 90, 60), Around(none, image.Pt(90, 60), 1))
}

// A picture shows the take's pixels where they are, paper beyond the frame, and the
// same marks whatever part is shown.
func TestPictureOfAPart(t *testing.T) {
	s := split(960, 540, 8, 9.6, 1.6).leap()
	for _, offset := range []image.Point{{}, {37, -12}} {
		img := image.NewRGBA(image.Rect(0, 0, 960, 540).Add(offset))
		for y := range 540 {
			for x := range 960 {
				img.SetRGBA(x+offset.X, y+offset.Y, color.RGBA{uint8(x / 4), uint8(y / 3), 90, 255})
			}
		}
		part := image.Rect(-200, -100, 760, 440)
		got, err := Picture(img, s.r, Options{Width: 960, Part: part, Text: 12})
		require.NoError(t, err)
		assert.Equal(t, image.Pt(960, 540), got.Bounds().Size())
		assert.Equal(t, draw.Paper, color.NRGBAModel.Convert(got.At(100, 300)), "left of the frame")
		assert.Equal(t, draw.Paper, color.NRGBAModel.Convert(got.At(500, 40)), "above it")
		for _, at := range []image.Point{{250, 150}, {300, 500}, {900, 130}} {
			assert.Equal(t, color.RGBA{uint8((at.X - 200) / 4), uint8((at.Y - 100) / 3), 90, 255}, got.At(at.X, at.Y), "%v", at)
		}
		white := color.NRGBAModel.Convert(got.At(int(s.find("hip").X)+200, int(s.find("hip").Y)+100)).(color.NRGBA)
		assert.Greater(t, white.R, uint8(230), "the middle of a mark is white")
	}
	_, err := Picture(hall(s.r), s.r, Options{Part: image.Rect(0, 0, 50000, 9)})
	assert.Error(t, err)
	_, err = Picture(hall(s.r), s.r, Options{Text: 9000})
	assert.Error(t, err)
	_, err = Picture(nil, s.r, Options{})
	assert.Error(t, err)
}

// Words on a picture are the language's.
func TestPictureSaysItsWords(t *testing.T) {
	s := split(960, 540, 8, 9.6, 1.6).leap()
	var said []string
	_, err := Picture(hall(s.r), s.r, Options{Words: func(w string) string { said = append(said, w); return "Hüfte" }})
	require.NoError(t, err)
	assert.Subset(t, said, []string{"hip", "front ankle", "back ankle", "shoulder", "asked"})
}

func TestStatureByTheLongestSegment(t *testing.T) {
	r := &reading.Reading{Marks: []reading.Mark{{Landmark: "hip", X: 0, Y: 0}, {Landmark: "shoulder", X: 0, Y: -100}, {Landmark: "front-ankle", X: 245.5, Y: 0}}}
	// a trunk is 0.288 of stature and a leg 0.491 (priors.yaml): 347 against 500
	assert.InDelta(t, 500, Stature(r), 1e-9)
	assert.Zero(t, Stature(&reading.Reading{}))
}

func TestMovedCover(t *testing.T) {
	c, err := CoverAt(30, 40, 8)
	require.NoError(t, err)
	m := c.Moved(func(x, y float64) (float64, float64) { return -y, x })
	assert.Equal(t, disc{point{-40, 30}, 8}, m.discs[0])
	assert.Equal(t, disc{point{30, 40}, 8}, c.discs[0])
	assert.False(t, math.IsNaN(m.outline(view{Scale: 1})[0].X))
}
