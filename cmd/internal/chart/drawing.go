package chart

import (
	"image/png"
	"io"
	"math"

	"ecart/cmd/internal/hand"

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
		return hand.Problem("ask for 36 to 1200", "a picture cannot have %d dots per inch", dpi)
	}
	s := d.sheet
	c := vgimg.NewWith(vgimg.UseWH(vg.Points(s.W), vg.Points(s.H)), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(hand.Paper))
	for _, h := range s.shapes {
		s.paint(c, h)
	}
	for _, g := range s.labels {
		s.write(c, g)
	}
	return png.Encode(w, c.Image())
}

// to turns a place on the sheet into one on the canvas, which has its origin at the
// bottom.
func (s *sheet) to(p point) vg.Point {
	return vg.Point{X: vg.Points(p.X), Y: vg.Points(s.H - p.Y)}
}

// paint draws one shape.
func (s *sheet) paint(c vg.Canvas, h shape) {
	var path vg.Path
	for _, l := range h.Lines {
		if h.Round > 0 {
			const whole = 2 * math.Pi
			at, r := s.to(l[0]), vg.Points(h.Round)
			path.Move(vg.Point{X: at.X + r, Y: at.Y})
			path.Arc(at, r, 0, whole)
			path.Close()
			continue
		}
		for i, p := range l {
			if i == 0 {
				path.Move(s.to(p))
			} else {
				path.Line(s.to(p))
			}
		}
		if h.Closed {
			path.Close()
		}
	}
	c.SetColor(h.Colour)
	if h.Width == 0 {
		c.Fill(path)
		return
	}
	c.SetLineWidth(vg.Points(h.Width))
	dash := make([]vg.Length, len(h.Dash))
	for i, v := range h.Dash {
		dash[i] = vg.Points(v)
	}
	c.SetLineDash(dash, 0)
	c.Stroke(path)
}

// write draws text by its outlines: the canvas's own text has kerning that does not
// grow with the size.
func (s *sheet) write(c vg.Canvas, g label) {
	o := outlines{to: s.to}
	s.l.Trace(&o, g.Face, g.Size, g.Text, g.X-g.Align*s.l.Width(g.Face, g.Size, g.Text), g.Y)
	c.SetColor(g.Colour)
	c.Fill(o.path)
}

// outlines is the canvas's path for outlines that come in places on the sheet.
type outlines struct {
	path vg.Path
	to   func(point) vg.Point
}

func (o *outlines) MoveTo(x, y float64) { o.path.Move(o.to(point{X: x, Y: y})) }
func (o *outlines) LineTo(x, y float64) { o.path.Line(o.to(point{X: x, Y: y})) }
func (o *outlines) ClosePath()          { o.path.Close() }

func (o *outlines) QuadraticTo(x1, y1, x2, y2 float64) {
	o.path.QuadTo(o.to(point{X: x1, Y: y1}), o.to(point{X: x2, Y: y2}))
}

func (o *outlines) CubicTo(x1, y1, x2, y2, x3, y3 float64) {
	o.path.CubeTo(o.to(point{X: x1, Y: y1}), o.to(point{X: x2, Y: y2}), o.to(point{X: x3, Y: y3}))
}
