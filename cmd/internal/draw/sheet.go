package draw

import (
	"image/color"
	"math"
)

// Point is a place on a drawing. Point, Box and Label are aliases of plain structs, so
// that other packages can write {x, y} for them.
type Point = struct{ X, Y float64 }

// Polar returns the point at the given distance and direction from p; the direction is
// in radians, clockwise from the x axis as seen.
func Polar(p Point, distance, direction float64) Point {
	return Point{p.X + distance*math.Cos(direction), p.Y + distance*math.Sin(direction)}
}

// Add, Sub and Norm are sums, differences and lengths of points taken as vectors.
func Add(p, q Point) Point { return Point{p.X + q.X, p.Y + q.Y} }
func Sub(p, q Point) Point { return Point{p.X - q.X, p.Y - q.Y} }
func Norm(p Point) float64 { return math.Hypot(p.X, p.Y) }

// Box is a rectangle with sides parallel to the axes.
type Box = struct{ X0, Y0, X1, Y1 float64 }

// Wide returns the width of b.
func Wide(b Box) float64 { return b.X1 - b.X0 }

// High returns the height of b.
func High(b Box) float64 { return b.Y1 - b.Y0 }

// Corners returns the corners of b, clockwise as seen from the top left one.
func Corners(b Box) []Point {
	return []Point{{b.X0, b.Y0}, {b.X1, b.Y0}, {b.X1, b.Y1}, {b.X0, b.Y1}}
}

// Label is one line of text. Y is its base line. X is its left end if Align is 0, its
// middle if it is 0.5, its right end if it is 1.
type Label = struct {
	Text   string
	X, Y   float64
	Align  float64
	Size   float64
	Face   Face
	Colour color.NRGBA
}

// Pen is the style of a line.
type Pen struct {
	Colour color.NRGBA
	Width  float64
	Dash   []float64 // lengths of strokes and gaps in turn; nil is a full line
	Halo   float64   // width of paper colour on either side of the line, which makes it visible on any background
}

// Shape is a set of lines, or a filled area if the pen's width is 0.
type Shape struct {
	Lines  [][]Point
	Closed bool
	Round  float64 // above 0: a circle of this radius about the first point
	Pen            // a Halo is added to the sheet as a separate shape
}

// Text is a label on the sheet with a halo of paper of the given width around its letters.
type Text struct {
	Label
	Halo float64
}

// Sheet is a drawing of the given size. Shapes are drawn in order, then all text.
type Sheet struct {
	W, H   float64
	T      float64 // the size of most text, from which strokes and gaps are derived
	L      *Letters
	Shapes []Shape
	Texts  []Text
}

func (s *Sheet) add(h Shape) {
	if h.Halo > 0 {
		halo := h
		halo.Pen = Pen{Colour: Thin(Paper, 0.78), Width: h.Width + 2*h.Halo}
		s.Shapes = append(s.Shapes, halo)
	}
	s.Shapes = append(s.Shapes, h)
}

// Line draws straight lines from point to point.
func (s *Sheet) Line(p Pen, pts ...Point) { s.add(Shape{Lines: [][]Point{pts}, Pen: p}) }

// Lines draws several lines as one shape.
func (s *Sheet) Lines(p Pen, ls [][]Point) {
	if len(ls) > 0 {
		s.add(Shape{Lines: ls, Pen: p})
	}
}

// Outline draws a closed line.
func (s *Sheet) Outline(p Pen, pts []Point) {
	s.add(Shape{Lines: [][]Point{pts}, Closed: true, Pen: p})
}

// Fill fills the area within pts.
func (s *Sheet) Fill(c color.NRGBA, pts []Point) { s.Outline(Pen{Colour: c}, pts) }

// Rect fills b.
func (s *Sheet) Rect(c color.NRGBA, b Box) { s.Fill(c, Corners(b)) }

// Ring draws a circle; with no width, a disc.
func (s *Sheet) Ring(c color.NRGBA, width float64, at Point, radius float64) {
	s.add(Shape{Lines: [][]Point{{at}}, Round: radius, Pen: Pen{Colour: c, Width: width}})
}

// Disc fills a circle.
func (s *Sheet) Disc(c color.NRGBA, at Point, radius float64) { s.Ring(c, 0, at, radius) }

// Text adds a label and returns its width. An empty label is left out.
func (s *Sheet) Text(g Label) float64 { return s.HaloText(g, 0) }

// HaloText is Text with a halo of paper around the letters.
func (s *Sheet) HaloText(g Label, halo float64) float64 {
	if g.Text == "" {
		return 0
	}
	s.Texts = append(s.Texts, Text{g, halo})
	return s.L.Width(g.Face, g.Size, g.Text)
}

// left returns the x of the left end of g.
func (s *Sheet) left(g Label) float64 { return g.X - g.Align*s.L.Width(g.Face, g.Size, g.Text) }

// The height of text above its base line (digits and capitals) and below it (descenders),
// in text sizes, for all three faces.
const (
	ascent  = 0.74
	descent = 0.22
)

// LabelBox returns the bounding box of g.
func (s *Sheet) LabelBox(g Label) Box {
	x := s.left(g)
	return Box{x, g.Y - ascent*g.Size, x + s.L.Width(g.Face, g.Size, g.Text), g.Y + descent*g.Size}
}

// Over is Text on a rectangle of paper colour, for places with lines.
func (s *Sheet) Over(g Label) float64 {
	if g.Text != "" {
		b := s.LabelBox(g)
		s.Rect(Paper, Box{b.X0 - 0.15*s.T, b.Y0 - 0.05*s.T, b.X1 + 0.15*s.T, b.Y1 + 0.02*s.T})
	}
	return s.Text(g)
}

// Hatch fills b with white and, if spacing is above 0, with strokes at that distance.
func (s *Sheet) Hatch(b Box, spacing float64) {
	s.Rect(White, b)
	if spacing > 0 {
		s.Lines(Pen{Colour: Asked, Width: HatchPen * s.T}, HatchLines(b.X0, b.Y0, b.X1, b.Y1, spacing))
	}
}
