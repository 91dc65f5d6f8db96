package figure

import (
	"image"
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	xdraw "golang.org/x/image/draw"
	"pgregory.net/rapid"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/scene"
	"ecart/geometry"
)

// moved shifts a reading's marks and lines into a frame of another size.
func (s *sample) moved(dx, dy float64, w, h int) *sample {
	s.r.Take.WidthPx, s.r.Take.HeightPx = w, h
	for i := range s.r.Marks {
		s.r.Marks[i].X += dx
		s.r.Marks[i].Y += dy
	}
	for i := range s.r.Lines {
		l := &s.r.Lines[i]
		l.FromX, l.ToX, l.FromY, l.ToY = l.FromX+dx, l.ToX+dx, l.FromY+dy, l.ToY+dy
	}
	return s
}

// A frame in which the athlete is small is cropped to a part with every mark and the frame's
// aspect ratio; another frame is shown as a whole.
func TestCutOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(400, 4000).Draw(t, "w"), rapid.IntRange(400, 4000).Draw(t, "h")
		dx := rapid.Float64Range(-200, float64(w)).Draw(t, "dx")
		dy := rapid.Float64Range(-200, float64(h)).Draw(t, "dy")
		s := split(640, 360, 8, 9.6, 1.6).moved(dx, dy, w, h)
		const print = 1200.0
		size := image.Pt(w, h)
		cut := cutOut(s.r, size, print)
		if !cut.In(image.Rectangle{Max: size}) || cut.Empty() {
			t.Fatalf("%v is no part of %v", cut, size)
		}
		if cut.Size() == size {
			return
		}
		if got, want := float64(cut.Dy()), float64(cut.Dx())*float64(h)/float64(w); got < want-1 || got > want+1 {
			t.Fatalf("%v does not have the aspect ratio of %v", cut, size)
		}
		if print/float64(cut.Dx()) > mostEnlarged {
			t.Fatalf("%v is enlarged too much", cut)
		}
		for _, m := range s.r.Marks {
			in := m.X >= 0 && m.X <= float64(w-1) && m.Y >= 0 && m.Y <= float64(h-1)
			if p := (image.Point{int(m.X), int(m.Y)}); in && !p.In(cut) {
				t.Fatalf("%s at %v is not in %v", m.Landmark, p, cut)
			}
		}
	})
}

// A cropped frame gives the same print as a frame that consists of that part alone.
func TestCutShowsTheSame(t *testing.T) {
	s := split(960, 540, 8, 9.6, 1.6).leap()
	small := hall(s.r)
	big := image.NewRGBA(image.Rect(-70, 30, 2930, 1530)) // a frame whose corner is not at (0, 0)
	s.moved(700, 400, 3000, 1500)
	xdraw.Draw(big, small.Bounds().Add(image.Pt(630, 430)), small, image.Point{}, xdraw.Src)
	l := newTestLetters(t)
	opt, err := Options{Width: 640}.filled()
	require.NoError(t, err)
	p := planPage(big.Bounds().Size(), s.r, opt, l)
	require.NotEqual(t, big.Bounds().Size(), p.Cut.Size(), "it is cut")

	got, err := Frame(big, s.r, opt)
	require.NoError(t, err)
	cut := big.SubImage(p.Cut.Add(big.Bounds().Min))
	s.moved(-float64(p.Cut.Min.X), -float64(p.Cut.Min.Y), p.Cut.Dx(), p.Cut.Dy())
	opt.Whole = true
	want, err := Frame(cut, s.r, opt)
	require.NoError(t, err)

	q := planPage(p.Cut.Size(), s.r, opt, l)
	require.Equal(t, p.Picture, q.Picture)
	// at the part's edge the scaler uses one pixel beyond it, if there is one
	area := image.Rect(int(p.Picture.X0)+2, int(p.Picture.Y0)+2, int(p.Picture.X1)-2, int(p.Picture.Y1)-2)
	_, mean, most := compare(part2(got, area), part2(want, area))
	assert.Less(t, mean, goldenMean)
	assert.Less(t, most, float64(goldenMost))
}

func part2(img image.Image, r image.Rectangle) image.Image {
	out := image.NewRGBA(image.Rectangle{Max: r.Size()})
	xdraw.Draw(out, out.Bounds(), img, r.Min, xdraw.Src)
	return out
}

// body lists the landmarks of a body in a wide stance, from the side, facing right; y down.
var body = map[string]point{
	"hip": {600, 420}, "shoulder": {620, 220}, "elbow": {720, 170}, "wrist": {800, 100},
	"knee": {640, 580}, "ankle": {650, 740}, "toe": {720, 765},
	"front-knee": {720, 520}, "front-ankle": {850, 610}, "back-knee": {480, 500}, "back-ankle": {360, 610},
	"right-hip": {590, 420}, "left-hip": {640, 420}, "right-ankle": {500, 740}, "left-ankle": {760, 735},
	"right-shoulder": {570, 220}, "left-shoulder": {660, 220}, "ribs": {605, 330},
	"left-knee": {640, 580}, "left-toe": {780, 790},
}

var bodyMarks = map[string][]string{
	"hip-split":      {"hip", "front-ankle", "back-ankle", "shoulder"},
	"uneven-legs":    {"hip", "front-ankle", "back-ankle"},
	"foot-sickle":    {"left-knee", "left-ankle", "left-toe"},
	"leg-separation": {"right-hip", "left-hip", "right-ankle", "left-ankle", "right-shoulder", "left-shoulder"},
}

// measure reads every measure of the catalogue from the body.
func measure(t testing.TB, m geometry.Measure) *reading.Reading {
	t.Helper()
	names := bodyMarks[m.Name]
	if names == nil {
		names = []string{"hip", "shoulder", "elbow", "wrist", "knee", "ankle", "toe", "ribs"}
	}
	marks := &reading.Marks{Schema: reading.MarksSchema, Facing: "right"}
	if m.Name == "leg-separation" || m.Name == "foot-sickle" {
		marks.Facing = "camera"
	}
	for _, n := range names {
		marks.Marks = append(marks.Marks, reading.Placement{Landmark: n, X: body[n].X, Y: body[n].Y})
	}
	r, err := reading.Read(reading.Request{
		Take:  reading.Take{Name: "hall_2.jpg", WidthPx: 1200, HeightPx: 900},
		Still: true, Marks: marks, Measure: m, Camera: "by-eye", MaxDraws: 20_000,
	})
	require.NoError(t, err)
	return r
}

func TestEveryMeasureIsDrawn(t *testing.T) {
	img := plain(1200, 900, ground)
	for _, m := range geometry.Measures() {
		t.Run(m.Name, func(t *testing.T) {
			r := measure(t, m)
			assert.InDelta(t, r.PictureAngleDeg, draw.Sweep(r), 1e-6, "the lines show the angle that the reading gives")
			out, err := Frame(img, r, Options{Width: 480})
			require.NoError(t, err)
			assert.Equal(t, 480, out.Bounds().Dx())
		})
	}
}

// The part shown contains every landmark of the rendered athlete except on unmarked legs, and
// every pixel of the head, and has the requested ratio if the frame is large enough.
func TestAroundHoldsTheAthlete(t *testing.T) {
	for name, p := range headPoses() {
		if p.measure != "hip-split" && p.measure != "shoulder-flexion" {
			continue
		}
		c := scene.LookAt(450, 300, 260, scene.Vec{Y: 1.25}, 4.6)
		b := scene.NewBody(1.5)
		tr := scene.StillTruth(b, p.pose, c, p.measure)
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
		_, head := headPixels(b, p.pose, c)
		for _, h := range head {
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

// A picture shows the take's pixels in their place, paper beyond the frame, and the
// same marks for any part.
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

// The labels on a picture are translated by Options.Words.
func TestPictureTranslatesItsLabels(t *testing.T) {
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
