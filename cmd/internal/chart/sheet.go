package chart

import (
	"image/color"

	"ecart/cmd/internal/hand"
)

// point is a place on the drawing: points of 1/72 inch from its top left corner, y
// down.
type point struct{ X, Y float64 }

type box struct{ X0, Y0, X1, Y1 float64 }

func (b box) width() float64  { return b.X1 - b.X0 }
func (b box) height() float64 { return b.Y1 - b.Y0 }

func (b box) corners() []point {
	return []point{{b.X0, b.Y0}, {b.X1, b.Y0}, {b.X1, b.Y1}, {b.X0, b.Y1}}
}

// shape is one thing drawn: lines, or an area where Width is 0.
type shape struct {
	Lines  [][]point
	Closed bool
	Round  float64 // above 0: a circle of this radius about the first point
	Colour color.NRGBA
	Width  float64
	Dash   []float64
}

// label is one piece of text. Align is 0 where X is its left end, 0.5 its middle,
// 1 its right end; Y is its base line.
type label struct {
	Text   string
	X, Y   float64
	Align  float64
	Size   float64
	Face   hand.Face
	Colour color.NRGBA
}

type pen struct {
	colour color.NRGBA
	width  float64
	dash   []float64
}

// sheet collects what is drawn. Text lies over everything else.
type sheet struct {
	W, H   float64
	l      *hand.Letters
	shapes []shape
	labels []label
}

func (s *sheet) line(p pen, pts ...point) {
	s.shapes = append(s.shapes, shape{Lines: [][]point{pts}, Colour: p.colour, Width: p.width, Dash: p.dash})
}

// lines draws several strokes as one.
func (s *sheet) lines(p pen, ls [][]point) {
	if len(ls) > 0 {
		s.shapes = append(s.shapes, shape{Lines: ls, Colour: p.colour, Width: p.width, Dash: p.dash})
	}
}

func (s *sheet) outline(p pen, pts []point) {
	s.shapes = append(s.shapes, shape{Lines: [][]point{pts}, Closed: true, Colour: p.colour, Width: p.width, Dash: p.dash})
}

func (s *sheet) fill(c color.NRGBA, pts []point) {
	s.shapes = append(s.shapes, shape{Lines: [][]point{pts}, Closed: true, Colour: c})
}

func (s *sheet) rect(c color.NRGBA, b box) { s.fill(c, b.corners()) }

// ring draws a circle; without width it is a disc.
func (s *sheet) ring(c color.NRGBA, width float64, at point, radius float64) {
	s.shapes = append(s.shapes, shape{Lines: [][]point{{at}}, Round: radius, Colour: c, Width: width})
}

// text puts a label down and returns its width; nothing is put down for no text.
func (s *sheet) text(g label) float64 {
	if g.Text == "" {
		return 0
	}
	s.labels = append(s.labels, g)
	return s.l.Width(g.Face, g.Size, g.Text)
}

// How far text reaches above and below its base line, in sizes: the figures and
// capitals of the three faces, and their descenders.
const (
	ascent  = 0.74
	descent = 0.22
)

// box returns the place that g takes.
func (s *sheet) box(g label) box {
	w := s.l.Width(g.Face, g.Size, g.Text)
	x := g.X - g.Align*w
	return box{x, g.Y - ascent*g.Size, x + w, g.Y + descent*g.Size}
}

// over puts a label down on a piece of paper of its own, where lines may run.
func (s *sheet) over(g label) float64 {
	if g.Text != "" {
		b := s.box(g)
		s.rect(hand.Paper, box{b.X0 - 0.15*text, b.Y0 - 0.05*text, b.X1 + 0.15*text, b.Y1 + 0.02*text})
	}
	return s.text(g)
}

// hatch fills b with strokes that lie apart by the given distance; 0 leaves it
// plain.
func (s *sheet) hatch(b box, spacing float64) {
	s.rect(hand.White, b)
	if spacing <= 0 {
		return
	}
	s.lines(pen{colour: hand.Asked, width: hand.HatchPen * text}, hand.HatchLines[point](b.X0, b.Y0, b.X1, b.Y1, spacing))
}
