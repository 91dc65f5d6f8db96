package sheet

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/reading"
)

// blotInput is a drawn split about a hip: the athlete is tall pixels long, the picture leans by lean
// degrees, and every mark has a red blot.
func blotInput(size image.Point, hip [2]float64, tall, lean float64) Input {
	img := image.NewRGBA(image.Rectangle{Max: size})
	for i := range img.Pix {
		img.Pix[i] = 0xc0
	}
	r := &reading.Reading{Measure: "hip-split", AngleDeg: 170, PictureAngleDeg: 170, StandardUncertaintyDeg: 2, ExpandedUncertaintyDeg: 4, Coverage: 0.95,
		IntervalDeg: [2]float64{166, 174}, Turn: 1, Take: reading.Take{WidthPx: size.X, HeightPx: size.Y}}
	sin, cos := math.Sincos(lean * math.Pi / 180)
	leg := 0.491 * tall // of stature, as in reading's priors
	a := 5 * math.Pi / 180
	at := map[string][2]float64{}
	for name, d := range map[string][2]float64{"hip": {0, 0}, "front-ankle": {leg * math.Cos(a), leg * math.Sin(a)}, "back-ankle": {-leg * math.Cos(a), leg * math.Sin(a)}, "shoulder": {0, -0.288 * tall}} {
		at[name] = [2]float64{hip[0] + cos*d[0] - sin*d[1], hip[1] + sin*d[0] + cos*d[1]}
	}
	for _, name := range []string{"hip", "front-ankle", "back-ankle", "shoulder"} {
		p := at[name]
		r.Marks = append(r.Marks, reading.Mark{Landmark: name, X: p[0], Y: p[1], Covariance: [2][2]float64{{9, 0}, {0, 1}}, Placements: 1})
		for y := -6; y <= 6; y++ {
			for x := -6; x <= 6; x++ {
				img.Set(int(math.Round(p[0]))+x, int(math.Round(p[1]))+y, color.RGBA{255, 0, 0, 255})
			}
		}
	}
	for i, to := range []string{"front-ankle", "back-ankle"} {
		h, e := at["hip"], at[to]
		r.Lines[i] = reading.Line{From: "hip", To: to, FromX: h[0], FromY: h[1], ToX: e[0], ToY: e[1]}
	}
	return Input{Reading: r, Picture: img, Level: &[2]reading.Pixel{{200, 300}, {200 + 400*cos, 300 + 400*sin}}}
}

// A picture is rotated with its marks until the line marked as level is level.
func TestLevelled(t *testing.T) {
	for _, lean := range []float64{-7, 3, 12} {
		in := blotInput(image.Pt(900, 700), [2]float64{430, 360}, 420, lean)
		c, err := figure.CoverAt(in.Reading.Marks[3].X, in.Reading.Marks[3].Y, 5)
		require.NoError(t, err)
		in.Covers = []figure.Cover{c}
		out, ok := rotatedLevel(in)
		require.True(t, ok)
		r := out.Reading
		assert.InDelta(t, r.Marks[0].X, r.Marks[3].X, 1e-9, "the trunk, which was drawn square to the level, is plumb")
		assert.InDelta(t, r.Marks[1].Y, r.Marks[2].Y, 1e-9, "and both ankles are level")
		assert.InDelta(t, out.Level[0][1], out.Level[1][1], 1e-9)
		for _, m := range r.Marks {
			red, green, _, _ := out.Picture.At(int(math.Round(m.X)), int(math.Round(m.Y))).RGBA()
			assert.Greater(t, red>>8, uint32(200), "%s moved with the picture", m.Landmark)
			assert.Less(t, green>>8, uint32(40), "%s moved with the picture", m.Landmark)
			// a turn keeps the trace and the determinant of a covariance
			v := m.Covariance
			assert.InDelta(t, 10, v[0][0]+v[1][1], 1e-9)
			assert.InDelta(t, 9, v[0][0]*v[1][1]-v[0][1]*v[1][0], 1e-9)
		}
		length := func(l reading.Line) float64 { return math.Hypot(l.ToX-l.FromX, l.ToY-l.FromY) }
		assert.InDelta(t, length(in.Reading.Lines[0]), length(r.Lines[0]), 1e-9)
		assert.NotEqual(t, in.Reading.Marks[0], r.Marks[0], "the reading that was handed over stays as it was")
		_, err = figure.Picture(out.Picture, r, figure.Options{Width: 500, Covers: out.Covers})
		assert.NoError(t, err)
	}
	in := blotInput(image.Pt(900, 700), [2]float64{430, 360}, 420, 4)
	in.Level = nil
	_, ok := rotatedLevel(in)
	assert.False(t, ok)
}

// source is a picture that gives its parts as a large.Source does.
type source struct{ *image.RGBA }

func (s source) Region(r image.Rectangle) *image.RGBA {
	out := image.NewRGBA(r)
	draw.Draw(out, r, s.RGBA, r.Min, draw.Src)
	return out
}

// A picture rotated part by part is the same as one rotated as a whole.
func TestLevelledInParts(t *testing.T) {
	for _, lean := range []float64{-7, 3, 12, 40} {
		in := blotInput(image.Pt(1700, 1300), [2]float64{830, 660}, 420, lean)
		img := image.NewRGBA(in.Picture.Bounds())
		draw.Draw(img, img.Rect, in.Picture, image.Point{}, draw.Src)
		for i := range img.Pix {
			if i%4 != 3 {
				img.Pix[i] ^= uint8(i / 97)
			}
		}
		in.Picture = img
		whole, ok := rotatedLevel(in)
		require.True(t, ok)
		in.Picture = large.Of(source{img})
		parts, ok := rotatedLevel(in)
		require.True(t, ok)
		all := whole.Picture.(large.Picture).Region(img.Rect)
		assert.Equal(t, all.Pix, parts.Picture.(large.Picture).Region(img.Rect).Pix, "leaning %g", lean)
		r := image.Rect(301, 204, 1400, 1201)
		part := parts.Picture.(large.Picture).Region(r)
		assert.Equal(t, r, part.Rect)
		for _, at := range []image.Point{{301, 204}, {900, 700}, {1399, 1200}} {
			assert.Equal(t, all.RGBAAt(at.X, at.Y), part.RGBAAt(at.X, at.Y), "leaning %g", lean)
		}
	}
}

// Both parts show as much of an athlete, in statures, and have the point from which
// the angle opens at the same place.
func TestEquallyLarge(t *testing.T) {
	a, b := blotInput(image.Pt(1600, 900), [2]float64{700, 420}, 640, 0), blotInput(image.Pt(700, 900), [2]float64{380, 500}, 310, 0)
	equally := func() ([2]image.Rectangle, bool) {
		return EquallyLarge([2]*reading.Reading{a.Reading, b.Reading}, [2]image.Point{a.Picture.Bounds().Size(), b.Picture.Bounds().Size()})
	}
	parts, ok := equally()
	require.True(t, ok)
	const pixel = 1.5 // parts are of whole pixels
	for i, in := range []Input{a, b} {
		tall := []float64{640, 310}[i]
		assert.InDelta(t, tall, figure.Stature(in.Reading), 1e-6, "the marks were drawn so")
	}
	ratio := 640.0 / 310
	assert.InDelta(t, float64(parts[0].Dx()), ratio*float64(parts[1].Dx()), pixel*(1+ratio))
	assert.InDelta(t, float64(parts[0].Dy()), ratio*float64(parts[1].Dy()), pixel*(1+ratio))
	assert.InDelta(t, 700-float64(parts[0].Min.X), ratio*(380-float64(parts[1].Min.X)), pixel*(1+ratio))
	assert.InDelta(t, 420-float64(parts[0].Min.Y), ratio*(500-float64(parts[1].Min.Y)), pixel*(1+ratio))

	b.Reading.Marks = b.Reading.Marks[:1]
	_, ok = equally()
	assert.False(t, ok, "one mark does not tell how large an athlete is")
}

func TestDifferenceInWords(t *testing.T) {
	s, err := newSetting(Options{})
	require.NoError(t, err)
	for _, c := range []struct {
		d    change.Difference
		want []string
	}{
		{change.Difference{ChangeDeg: 6.14, SmallestDeg: 4.02, Real: true}, []string{"yes: by more than their uncertainty", "B is larger than A by 6.1°, ± 4.1°.", "nothing cancels"}},
		{change.Difference{ChangeDeg: -2.5, SmallestDeg: 8.7, AloneDeg: 9.93, Shared: []change.Shared{{Source: "lens"}, {Source: "oblique"}}},
			[]string{"not by more than their uncertainty", "B is smaller than A by 2.5°, ± 8.7°.", "what the lens bends and camera not square", "± 10°"}},
	} {
		var p pairPage
		s.describeDifference(&p, &c.d)
		all := p.Verb + " " + p.Says[0] + " " + p.Shared
		for _, w := range c.want {
			assert.Contains(t, all, w)
		}
	}
}

func TestPairsThatCannotBe(t *testing.T) {
	a, b := blotInput(image.Pt(900, 700), [2]float64{430, 360}, 420, 0), blotInput(image.Pt(900, 700), [2]float64{430, 360}, 420, 0)
	var none discard
	assert.Error(t, WritePair(&none, a, b, nil, Options{}))
	c := b
	r := *b.Reading
	r.Measure = "pike"
	c.Reading = &r
	assert.ErrorContains(t, WritePair(&none, a, c, &change.Difference{}, Options{}), "of pike")
	x, y := *a.Reading, *b.Reading
	x.Skill, y.Skill = &reading.SkillRef{Rulebook: "one", Name: "leap"}, &reading.SkillRef{Rulebook: "two", Name: "leap"}
	a.Reading, b.Reading = &x, &y
	assert.ErrorContains(t, WritePair(&none, a, b, &change.Difference{}, Options{}), "two/leap")
	assert.Zero(t, none)
}

type discard int

func (d *discard) Write(b []byte) (int, error) { *d += discard(len(b)); return len(b), nil }
