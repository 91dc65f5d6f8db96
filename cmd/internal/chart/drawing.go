package chart

import (
	"fmt"
	"image/color"
	"io"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// Drawing is a chart, laid out.
type Drawing struct {
	Title string // what it shows, in a few words
	Alt   string // the same in a sentence, for who cannot see it
	sheet *sheet
}

// pointsPerMM turns millimetres into points of 1/72 inch.
const pointsPerMM = 72 / 25.4

// SizeMM is how large the drawing is on paper.
func (d *Drawing) SizeMM() (width, height float64) {
	return d.sheet.W / pointsPerMM, d.sheet.H / pointsPerMM
}

// Resolutions that a picture can have, in dots per inch.
const (
	ScreenDPI = 144
	PrintDPI  = 300
	mostDPI   = 1200
)

// PNG writes the drawing as a picture and nothing else: no time, no place, no name
// of a program. 0 dots per inch is ScreenDPI.
func (d *Drawing) PNG(w io.Writer, dpi int) error {
	if dpi == 0 {
		dpi = ScreenDPI
	}
	if dpi < 36 || dpi > mostDPI {
		return problem("ask for 36 to 1200", "a picture cannot have %d dots per inch", dpi)
	}
	s := d.sheet
	c := vgimg.NewWith(vgimg.UseWH(vg.Points(s.W), vg.Points(s.H)), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(paper))
	s.paint(c)
	for _, g := range s.labels {
		c.SetColor(g.Colour)
		face := s.l.faces[g.Face]
		face.Font.Size = vg.Points(g.Size)
		x := g.X - g.Align*s.l.width(g.Face, g.Size, g.Text)
		c.FillString(face, vg.Point{X: vg.Points(x), Y: vg.Points(s.H - g.Y)}, g.Text)
	}
	_, err := vgimg.PngCanvas{Canvas: c}.WriteTo(w)
	return err
}

// paint draws everything but the text; the canvas has its origin at the bottom.
func (s *sheet) paint(c vg.Canvas) {
	to := func(p point) vg.Point {
		return vg.Point{X: vg.Points(tidy(p.X)), Y: vg.Points(tidy(s.H - p.Y))}
	}
	for _, h := range s.shapes {
		var path vg.Path
		for _, l := range h.Lines {
			if h.Round > 0 {
				at := to(l[0])
				r := vg.Points(tidy(h.Round))
				path.Move(vg.Point{X: at.X + r, Y: at.Y})
				path.Arc(at, r, 0, 2*math.Pi)
				path.Close()
				continue
			}
			for i, p := range l {
				if i == 0 {
					path.Move(to(p))
				} else {
					path.Line(to(p))
				}
			}
			if h.Closed {
				path.Close()
			}
		}
		c.SetColor(h.Colour)
		if h.Width == 0 {
			c.Fill(path)
			continue
		}
		c.SetLineWidth(vg.Points(tidy(h.Width)))
		dash := make([]vg.Length, len(h.Dash))
		for i, v := range h.Dash {
			dash[i] = vg.Points(tidy(v))
		}
		c.SetLineDash(dash, 0)
		c.Stroke(path)
	}
}

// tidy rounds to a hundredth of a point, 3.5 micrometres.
func tidy(v float64) float64 { return math.Round(v*100) / 100 }

func hex(c color.NRGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }
