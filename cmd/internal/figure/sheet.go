package figure

import (
	"image"
	"image/color"
	"math"

	"ecart/cmd/internal/hand"

	"github.com/fogleman/gg"
)

// point is a place on a drawing in pixels, x right, y down.
type point struct{ X, Y float64 }

func (p point) add(q point) point        { return point{p.X + q.X, p.Y + q.Y} }
func (p point) sub(q point) point        { return point{p.X - q.X, p.Y - q.Y} }
func (p point) norm() float64            { return math.Hypot(p.X, p.Y) }
func (p point) polar(r, a float64) point { return point{p.X + r*math.Cos(a), p.Y + r*math.Sin(a)} }

// box is an upright rectangle.
type box struct{ X0, Y0, X1, Y1 float64 }

func (b box) width() float64  { return b.X1 - b.X0 }
func (b box) height() float64 { return b.Y1 - b.Y0 }

// label is a line of text with its base line at (X, Y); Anchor 0 stands at its
// left end, 1 at its right end.
type label struct {
	Text   string
	X, Y   float64
	Anchor float64
	Size   float64
	Face   hand.Face
	Colour color.NRGBA
}

// sheet is a surface to draw on.
type sheet struct {
	dc *gg.Context
	l  *hand.Letters
}

func newSheet(w, h int, ground color.Color, l *hand.Letters) *sheet {
	s := &sheet{gg.NewContext(w, h), l}
	s.dc.SetColor(ground)
	s.dc.Clear()
	return s
}

func (s *sheet) image() image.Image { return s.dc.Image() }

// pen is how a line is drawn.
type pen struct {
	colour color.NRGBA
	width  float64
	dash   []float64
	halo   float64 // paper on either side of it, so that it reads on any ground
}

func (s *sheet) stroke(p pen, path func(dc *gg.Context)) {
	dc := s.dc
	dc.SetLineCapButt()
	dc.SetLineJoin(gg.LineJoinRound)
	if p.halo > 0 {
		dc.SetDash()
		path(dc)
		dc.SetColor(hand.Thin(hand.Paper, 0.78))
		dc.SetLineWidth(p.width + 2*p.halo)
		dc.Stroke()
	}
	path(dc)
	dc.SetDash(p.dash...)
	dc.SetColor(p.colour)
	dc.SetLineWidth(p.width)
	dc.Stroke()
	dc.SetDash()
}

func (s *sheet) line(p pen, a, b point) {
	s.stroke(p, func(dc *gg.Context) { dc.MoveTo(a.X, a.Y); dc.LineTo(b.X, b.Y) })
}

func (s *sheet) polyline(p pen, pts []point) { s.stroke(p, trace(pts, false)) }

func (s *sheet) outline(p pen, pts []point) { s.stroke(p, trace(pts, true)) }

func (s *sheet) fill(c color.NRGBA, pts []point) {
	trace(pts, true)(s.dc)
	s.dc.SetColor(c)
	s.dc.Fill()
}

func (s *sheet) disc(c color.NRGBA, at point, r float64) {
	s.dc.DrawCircle(at.X, at.Y, r)
	s.dc.SetColor(c)
	s.dc.Fill()
}

func (s *sheet) rect(c color.NRGBA, b box) {
	s.dc.DrawRectangle(b.X0, b.Y0, b.width(), b.height())
	s.dc.SetColor(c)
	s.dc.Fill()
}

func trace(pts []point, closed bool) func(dc *gg.Context) {
	return func(dc *gg.Context) {
		for i, p := range pts {
			if i == 0 {
				dc.MoveTo(p.X, p.Y)
			} else {
				dc.LineTo(p.X, p.Y)
			}
		}
		if closed && len(pts) > 0 {
			dc.ClosePath()
		}
	}
}

// text writes l, with a halo of paper around it where halo is more than 0.
func (s *sheet) text(l label, halo float64) {
	x0 := l.X - l.Anchor*s.l.Width(l.Face, l.Size, l.Text)
	put := func() { s.l.Trace(s.dc, l.Face, l.Size, l.Text, x0, l.Y) }
	if halo > 0 {
		put()
		s.dc.SetColor(hand.Thin(hand.Paper, 0.92))
		s.dc.SetLineWidth(2 * halo)
		s.dc.SetLineJoin(gg.LineJoinRound)
		s.dc.SetLineCapRound()
		s.dc.Stroke()
	}
	put()
	s.dc.SetColor(l.Colour)
	s.dc.Fill()
}
