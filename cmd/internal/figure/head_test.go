package figure

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/scene"

	"ecart/cmd/internal/draw"
)

// headPixels returns the pixels of the head, and the picture that it finds them in. It renders the body in the pose,
// with skin and hair in a green that occurs nowhere else and a very small girth, which
// makes the limbs thin and leaves the skull unchanged. Pixels that are mostly green are the
// head.
func headPixels(b scene.Body, p scene.Pose, c scene.Camera) (img image.Image, where []image.Point) {
	b.Girth = 0.01
	b.Skin, b.Hair, b.Leotard = 0x00ff00, 0x00ff00, 0xffffff
	img, _ = scene.Still(b, p, c, nil, "hip-split")
	r := img.Bounds()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if red, green, blue, _ := img.At(x, y).RGBA(); green > 0x3000 && 2*red < green && 2*blue < green {
				where = append(where, image.Pt(x, y))
			}
		}
	}
	return img, where
}

// placedMarks returns the marks as a person would place them, on the visible skin.
func placedMarks(tr scene.Truth, names ...string) (out []reading.Placement) {
	for _, n := range names {
		if m, ok := tr.Mark(n); ok {
			out = append(out, reading.Placement{Landmark: n, X: m.SkinPixel[0], Y: m.SkinPixel[1]})
		}
	}
	return out
}

// marked lists the usual marks of each measure.
var marked = map[string][]string{
	"hip-split":        {"hip", "front-ankle", "back-ankle", "shoulder"},
	"shoulder-flexion": {"hip", "shoulder", "wrist"},
	"elbow-bend":       {"shoulder", "elbow", "wrist"},
	"pike":             {"shoulder", "hip", "ankle"},
	"leg-separation":   {"left-hip", "left-ankle", "right-hip", "right-ankle", "left-shoulder", "right-shoulder"},
}

const degree = math.Pi / 180

func headPoses() map[string]struct {
	pose    scene.Pose
	measure string
} {
	out := map[string]struct {
		pose    scene.Pose
		measure string
	}{}
	add := func(name, measure string, p scene.Pose) {
		p.Hips.Y = 1.05
		out[name] = struct {
			pose    scene.Pose
			measure string
		}{p, measure}
	}
	for _, nod := range []float64{-75, -40, 0, 35, 60} {
		add(fmt.Sprintf("leap, nod %g", nod), "hip-split", scene.Pose{Nod: nod * degree, Lean: 5 * degree}.Split(170*degree, 0, scene.Right))
	}
	add("ring leap", "hip-split", scene.Pose{Nod: -50 * degree, Arch: 50 * degree, Lean: -10 * degree}.Split(165*degree, 0, scene.Right))
	up := scene.Arm{Flexion: 172 * degree, Opening: 4 * degree}
	add("overhead", "shoulder-flexion", scene.Pose{Arms: [2]scene.Arm{up, up}, Nod: 20 * degree})
	add("handstand", "shoulder-flexion", scene.Pose{Tilt: math.Pi, Arms: [2]scene.Arm{up, up}, Nod: -35 * degree})
	add("arm alone", "elbow-bend", scene.Pose{Arms: [2]scene.Arm{{Flexion: 90 * degree, Elbow: 40 * degree}, {Flexion: 90 * degree, Elbow: 40 * degree}}, Nod: 30 * degree})
	legs := scene.Leg{Flexion: 120 * degree}
	add("pike", "pike", scene.Pose{Lean: 40 * degree, Legs: [2]scene.Leg{legs, legs}, Nod: 45 * degree})
	open := scene.Leg{Opening: 60 * degree}
	add("straddle", "leg-separation", scene.Pose{Turn: math.Pi / 2, Legs: [2]scene.Leg{open, open}, Nod: 30 * degree})
	add("straddle, bent towards the camera", "leg-separation", scene.Pose{Turn: math.Pi / 2, Lean: 65 * degree, Legs: [2]scene.Leg{open, open}})
	return out
}

// HeadCover hides every pixel of the head, in many poses of body and neck, for tilted
// cameras near and far.
func TestHeadIsCovered(t *testing.T) {
	cameras := map[string]scene.Camera{}
	for _, yaw := range []float64{-18, 12} {
		c := scene.LookAt(300, 300, 390, scene.Vec{Y: 1.25}, 3.4)
		c.Yaw, c.Roll = yaw*degree, 3*degree
		cameras[fmt.Sprintf("yaw %g", yaw)] = c
	}
	far := scene.LookAt(300, 300, 820, scene.Vec{Y: 1.25}, 7)
	far.Pitch = 8 * degree
	cameras["far"] = far
	for _, stature := range []float64{1.25, 1.62} {
		for name, p := range headPoses() {
			for seen, c := range cameras {
				b := scene.NewBody(stature)
				tr := scene.StillTruth(b, p.pose, c, p.measure)
				marks := placedMarks(tr, marked[p.measure]...)
				require.Len(t, marks, len(marked[p.measure]))
				cover, err := HeadCover(marks, p.measure)
				require.NoError(t, err, name)
				img, head := headPixels(b, p.pose, c)
				require.Greater(t, len(head), 120, "%s, %s: the head shows", name, seen)
				bare := uncovered(t, img, cover, head)
				assert.Zero(t, bare, "%s, %s, %g m: pixels of %d that show", name, seen, stature, len(head))
			}
		}
	}
}

// uncovered counts the pixels of a head that show anything of the picture: those that
// change if the picture under the cover is replaced.
func uncovered(t *testing.T, img image.Image, c Cover, head []image.Point) (n int) {
	t.Helper()
	r := img.Bounds()
	other := image.NewRGBA(r)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			red, green, blue, _ := img.At(x, y).RGBA()
			other.SetRGBA(x, y, color.RGBA{uint8(255 - red>>8), uint8(255 - green>>8), uint8(255 - blue>>8), 255})
		}
	}
	a, err := Overlay(img, nil, "", c)
	require.NoError(t, err)
	b, err := Overlay(other, nil, "", c)
	require.NoError(t, err)
	for _, p := range head {
		if a.At(p.X, p.Y) != b.At(p.X, p.Y) {
			n++
		}
	}
	return n
}

// The check finds a cover that is too small: one of half the size leaves pixels visible.
func TestSmallerCoverIsFound(t *testing.T) {
	p := headPoses()["leap, nod -40"]
	c := scene.LookAt(480, 480, 620, scene.Vec{Y: 1.25}, 3.4)
	b := scene.NewBody(1.5)
	tr := scene.StillTruth(b, p.pose, c, p.measure)
	cover, err := HeadCover(placedMarks(tr, marked[p.measure]...), p.measure)
	require.NoError(t, err)
	small := Cover{}
	for _, d := range cover.discs[len(cover.discs)/2:] {
		small.discs = append(small.discs, disc{d.At, d.R / 2})
	}
	img, head := headPixels(b, p.pose, c)
	assert.Positive(t, uncovered(t, img, small, head))
}

// In a clip the head is covered in every frame, including those in which marks are lost
// while the athlete moves.
func TestHeadIsCoveredThroughAClip(t *testing.T) {
	b := scene.NewBody(1.5)
	s := &scene.Scene{
		Body: b, Motion: scene.Leap{}.Motion(b), Camera: scene.LookAt(400, 250, 262, scene.Vec{Y: 1.1}, 5),
		Hall: scene.PlainHall(), FPS: 60, Frames: 90, Measure: "hip-split",
	}
	names := marked["hip-split"]
	track := &reading.Track{Landmarks: names}
	for i := range s.Frames {
		tr := s.Truth(i)
		f := reading.TrackFrame{Frame: i, TimeS: s.Time(i)}
		for k, m := range placedMarks(tr, names...) {
			one := reading.Tracked{X: m.X, Y: m.Y, Seen: reading.Found}
			if k == 3 && i >= 40 && i < 48 || i < 20 || k == 0 && i >= 60 {
				one.Seen = reading.Lost
			}
			f.Marks = append(f.Marks, one)
		}
		track.Frames = append(track.Frames, f)
	}
	at, err := HeadTrack(track, "hip-split")
	require.NoError(t, err)
	for _, i := range []int{0, 19, 20, 35, 40, 44, 47, 59, 66, 89} {
		img, head := headPixels(b, s.Motion.At(s.Time(i)), s.Camera)
		bare := uncovered(t, img, at(i), head)
		assert.Zero(t, bare, "frame %d", i)
	}
	// a frame that was not followed is covered as a whole
	img, _ := s.Frame(10)
	every := []image.Point{}
	for y := 0; y < 250; y += 3 {
		for x := 0; x < 400; x += 3 {
			every = append(every, image.Pt(x, y))
		}
	}
	assert.Zero(t, uncovered(t, img, at(500), every))
	assert.Positive(t, uncovered(t, img, at(30), every), "and no other is")

	for i := range track.Frames {
		track.Frames[i].Marks[3].Seen = reading.Lost
	}
	_, err = HeadTrack(track, "hip-split")
	require.Error(t, err)
	assert.Contains(t, err.(*fault.Error).Hint(), "draw the cover by hand")
}

func TestHeadNobodyCanTell(t *testing.T) {
	at := func(n string, x, y float64) reading.Placement {
		return reading.Placement{Landmark: n, X: x, Y: y}
	}
	for name, marks := range map[string][]reading.Placement{
		"hip and ankles":       {at("hip", 200, 200), at("front-ankle", 300, 210), at("back-ankle", 100, 210)},
		"a shoulder by itself": {at("shoulder", 200, 200)},
		"both on one spot":     {at("shoulder", 200, 200), at("hip", 200, 200)},
		"nothing":              nil,
	} {
		_, err := HeadCover(marks, "hip-split")
		var e *fault.Error
		require.ErrorAs(t, err, &e, name)
		assert.Contains(t, e.Hint(), "mark the shoulder and the hip", name)
		assert.Contains(t, e.Hint(), "draw the cover by hand", name)
	}
	for _, c := range [][3]float64{{1, 2, 0}, {1, 2, -4}, {math.NaN(), 2, 9}, {1, math.Inf(1), 9}, {1, 2, 1e9}} {
		_, err := CoverAt(c[0], c[1], c[2])
		assert.Error(t, err, "%v", c)
	}
}

// A circle placed by a person is covered completely at any size of the print.
func TestPlacedCover(t *testing.T) {
	s := split(960, 540, 8, 9.6, 1.6).leap()
	c, err := CoverAt(490, 110, 60)
	require.NoError(t, err)
	for _, width := range []int{320, 1280} {
		opt := Options{Width: width, Covers: []Cover{c}, Whole: true}
		a, err := Frame(plain(960, 540, color.Black), s.r, opt)
		require.NoError(t, err)
		b, err := Frame(plain(960, 540, color.White), s.r, opt)
		require.NoError(t, err)
		filled, err := opt.filled()
		require.NoError(t, err)
		p := planPage(image.Pt(960, 540), s.r, filled, newTestLetters(t))
		v := view{Scale: draw.Wide(p.Picture) / 960}
		for deg := 0.0; deg < 360; deg += 5 {
			for _, r := range []float64{0, 30, 58} {
				at := draw.Add(point{p.Picture.X0, p.Picture.Y0}, v.at(490+r*math.Cos(radians(deg)), 110+r*math.Sin(radians(deg))))
				assert.Equal(t, a.At(int(at.X), int(at.Y)), b.At(int(at.X), int(at.Y)), "at %g px, %g degrees", r, deg)
			}
		}
	}
}

// A figure with covers does not contain the file's name.
func TestCoveredFigureNamesNoFile(t *testing.T) {
	clip := reading.Take{Name: "lena_petersen.mp4", Frame: 137, TimeS: 2.283}
	assert.Equal(t, "frame 137 · 2.283 s", nameless(clip))
	assert.Empty(t, nameless(reading.Take{Name: "lena_petersen.jpg"}))
	s := split(960, 540, 8, 9.6, 1.6).leap()
	c, err := CoverAt(490, 110, 60)
	require.NoError(t, err)
	for _, covers := range [][]Cover{nil, {c}} {
		opt, err := Options{Covers: covers}.filled()
		require.NoError(t, err)
		names := false
		for _, l := range planPage(image.Pt(960, 540), s.r, opt, newTestLetters(t)).Texts {
			names = names || len(l.Text) > 5 && l.Text[:4] == "leap"
		}
		assert.Equal(t, covers == nil, names)
	}
}
