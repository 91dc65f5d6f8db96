package chart

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"

	"ecart/cmd/internal/draw"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// labelSlack is the overlap allowed for rounding, in points.
const labelSlack = 0.05

// sound fails if a label overlaps another, leaves the paper or is too small to be read in
// print, or if a shape leaves the paper.
func sound(t require.TestingT, d *Drawing) {
	s := d.sheet
	require.True(t, draw.Finite(s.W, s.H) && s.W > 0 && s.H > 0, "the paper has no size: %g by %g", s.W, s.H)
	require.NotEmpty(t, d.Title)
	require.NotEmpty(t, d.Alt)
	boxes := make([]box, len(s.Texts))
	for i, g := range s.Texts {
		require.True(t, draw.Finite(g.X, g.Y), "%q has no place", g.Text)
		require.GreaterOrEqual(t, g.Size, smallText, "%q is too small to be read", g.Text)
		b := s.LabelBox(g.Label)
		boxes[i] = b
		require.True(t, b.X0 >= -labelSlack && b.X1 <= s.W+labelSlack && b.Y0 >= -labelSlack && b.Y1 <= s.H+labelSlack,
			"%q reaches beyond the paper of %g by %g: %v", g.Text, s.W, s.H, b)
		for j, o := range boxes[:i] {
			if b.X0 < o.X1-labelSlack && o.X0 < b.X1-labelSlack && b.Y0 < o.Y1-labelSlack && o.Y0 < b.Y1-labelSlack {
				require.Fail(t, fmt.Sprintf("%q and %q overlap: %v, %v", s.Texts[j].Text, g.Text, o, b))
			}
		}
	}
	for _, h := range s.Shapes {
		for _, l := range h.Lines {
			for _, p := range l {
				require.True(t, draw.Finite(p.X, p.Y), "a shape has no place")
				require.True(t, p.X >= -labelSlack && p.X <= s.W+labelSlack && p.Y >= -labelSlack && p.Y <= s.H+labelSlack,
					"a shape reaches beyond the paper of %g by %g: %v", s.W, s.H, p)
			}
		}
	}
}

// unobstructed fails if a line runs through a label.
func unobstructed(t require.TestingT, d *Drawing) {
	s := d.sheet
	for _, h := range s.Shapes {
		if h.Width == 0 || h.Round > 0 {
			continue
		}
		for _, l := range h.Lines {
			for i := 1; i < len(l); i++ {
				for _, g := range s.Texts {
					if b := s.LabelBox(g.Label); crosses(l[i-1], l[i], b) {
						require.Fail(t, fmt.Sprintf("a line from %v to %v runs through %q at %v", l[i-1], l[i], g.Text, b))
					}
				}
			}
		}
	}
}

// crosses reports whether the straight line from p to q reaches into b by more than rounding:
// the part of it that lies between the sides of b on both axes is not empty (Liang and Barsky).
func crosses(p, q point, b box) bool {
	from, to := 0.0, 1.0
	for _, axis := range [2][4]float64{{p.X, q.X, b.X0 + labelSlack, b.X1 - labelSlack}, {p.Y, q.Y, b.Y0 + labelSlack, b.Y1 - labelSlack}} {
		start, step := axis[0], axis[1]-axis[0]
		if step == 0 {
			if start <= axis[2] || start >= axis[3] {
				return false
			}
			continue
		}
		in, out := (axis[2]-start)/step, (axis[3]-start)/step
		from, to = max(from, min(in, out)), min(to, max(in, out))
	}
	return from < to
}

// alone fails if an SVG is not one well-formed element without references. It returns
// the texts in it.
func alone(t require.TestingT, svg string) []string {
	dec := xml.NewDecoder(strings.NewReader(svg))
	depth, roots := 0, 0
	var texts []string
	var in string
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		switch e := tok.(type) {
		case xml.StartElement:
			if depth == 0 {
				roots++
				require.Equal(t, "svg", e.Name.Local)
			}
			depth++
			in = e.Name.Local
			require.Contains(t, []string{"svg", "title", "desc", "rect", "circle", "path", "text"}, in)
			require.Equal(t, "http://www.w3.org/2000/svg", e.Name.Space)
			for _, a := range e.Attr {
				require.NotContains(t, []string{"href", "src", "onload", "id", "class", "style"}, a.Name.Local)
				if a.Name.Local != "aria-label" && a.Name.Local != "xmlns" {
					require.NotContains(t, a.Value, "url(")
					require.NotContains(t, a.Value, "//")
					require.NotContains(t, a.Value, "NaN")
					require.NotContains(t, a.Value, "Inf")
				}
			}
		case xml.EndElement:
			depth--
			in = ""
		case xml.CharData:
			if in == "text" {
				texts = append(texts, string(e))
			}
		case xml.ProcInst, xml.Directive, xml.Comment:
			require.Fail(t, "there is more than elements and text")
		}
	}
	require.Equal(t, 1, roots)
	return texts
}

func svgOf(t require.TestingT, d *Drawing) string {
	var b bytes.Buffer
	require.NoError(t, d.SVG(&b))
	return b.String()
}

func TestLayout(t *testing.T) {
	for name, make := range drawings(t) {
		t.Run(name, func(t *testing.T) {
			for _, opt := range []Options{{}, {WidthMM: MinWidthMM}, {WidthMM: 150}, {WidthMM: 400}, {Bare: true}} {
				d, err := make(opt)
				require.NoError(t, err)
				sound(t, d)
				unobstructed(t, d)
				svg := svgOf(t, d)
				texts := alone(t, svg)
				require.Len(t, texts, len(d.sheet.Texts))
				for i, g := range d.sheet.Texts {
					assert.Equal(t, g.Text, texts[i])
				}
				second, err := make(opt)
				require.NoError(t, err)
				assert.Equal(t, svg, svgOf(t, second), "the same input gives other bytes")
			}
		})
	}
}

// With very many readings each is drawn faintly, and the line lies over them.
func TestCrowded(t *testing.T) {
	in := manyData(t)
	d, err := Change(in, Options{})
	require.NoError(t, err)
	sound(t, d)
	last, line := 0, 0
	for i, h := range d.sheet.Shapes {
		if h.Round > 0 && h.Colour.A < 0xff {
			last = i
		}
		if h.Width == 0.12*text && len(h.Lines[0]) == 2 {
			line = i
		}
	}
	assert.Less(t, last, line)
}

// A squad of fifteen fits the printable part of an A4 page, 210 by 297 mm, with
// margins of 15 mm.
func TestSquadFitsAPage(t *testing.T) {
	in := squadData()
	require.Len(t, in.Rows, PageRows)
	d, err := Squad(in, Options{})
	require.NoError(t, err)
	w, h := d.SizeMM()
	assert.LessOrEqual(t, w, 210.0-2*15)
	assert.LessOrEqual(t, h, 297.0-2*15)
	natural := h
	for i := range in.Rows[:12] { // eight measures, each with its own ruler
		r := *in.Rows[i].Reading
		r.Measure = []string{"hip-split", "shoulder-flexion", "pike", "knee-bend", "foot-point", "leg-rise", "leg-separation", "elbow-bend"}[i%8]
		in.Rows[i].Reading = &r
	}
	d, err = Squad(in, Options{})
	require.NoError(t, err)
	sound(t, d)
	_, h = d.SizeMM()
	assert.LessOrEqual(t, h, 297.0-2*15)
	assert.Greater(t, h, natural)
}

func TestPicture(t *testing.T) {
	d, err := Ruler(RulerData{"Wren", leap(162.4, 1.6)}, Options{})
	require.NoError(t, err)
	w, h := d.SizeMM()
	for _, dpi := range []int{0, 96, PrintDPI} {
		var b, second bytes.Buffer
		require.NoError(t, d.PNG(&b, dpi))
		require.NoError(t, d.PNG(&second, dpi))
		assert.Equal(t, b.Bytes(), second.Bytes())
		img, err := png.Decode(&b)
		require.NoError(t, err)
		if dpi == 0 {
			dpi = ScreenDPI
		}
		assert.InDelta(t, w/25.4*float64(dpi), float64(img.Bounds().Dx()), 1)
		assert.InDelta(t, h/25.4*float64(dpi), float64(img.Bounds().Dy()), 1)
	}
	var hint interface{ Hint() string }
	assert.ErrorAs(t, d.PNG(io.Discard, 5), &hint)
}

// Every colour of text has a contrast ratio with paper of at least 4.5 to 1, by the
// formulas of WCAG 2.2.
func TestContrast(t *testing.T) {
	channel := func(v uint8) float64 {
		c := float64(v) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	luminance := func(r, g, b uint8) float64 { return 0.2126*channel(r) + 0.7152*channel(g) + 0.0722*channel(b) }
	ground := luminance(draw.Paper.R, draw.Paper.G, draw.Paper.B)
	for name, make := range drawings(t) {
		d, err := make(Options{})
		require.NoError(t, err)
		for _, g := range d.sheet.Texts {
			ratio := (ground + 0.05) / (luminance(g.Colour.R, g.Colour.G, g.Colour.B) + 0.05)
			assert.GreaterOrEqual(t, ratio, 4.5, "%s: %q", name, g.Text)
		}
	}
}
