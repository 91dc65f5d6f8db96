package figure

import (
	"image"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/geometry"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"

	xdraw "golang.org/x/image/draw"
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

// Of a frame in which the athlete is small the part about her is shown, in the
// frame's own shape, with every mark in it; of another, all.
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
			t.Fatalf("%v has not the shape of %v", cut, size)
		}
		if print/float64(cut.Dx()) > mostBlown {
			t.Fatalf("%v is blown up too far", cut)
		}
		for _, m := range s.r.Marks {
			in := m.X >= 0 && m.X <= float64(w-1) && m.Y >= 0 && m.Y <= float64(h-1)
			if p := (image.Point{int(m.X), int(m.Y)}); in && !p.In(cut) {
				t.Fatalf("%s at %v is not in %v", m.Landmark, p, cut)
			}
		}
	})
}

// A frame that is cut shows on its print what a frame of that part alone shows.
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
	// The scaler looks a pixel beyond the part's edge where there is one.
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

// body is a figure in a wide stance, seen from the side, facing right; y down.
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
