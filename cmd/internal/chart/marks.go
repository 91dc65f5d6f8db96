package chart

import (
	"image/color"
	"math"

	"ecart/cmd/internal/draw"
)

// look is the style of a mark: its colour, and whether it is filled or open.
type look struct {
	colour color.NRGBA
	open   bool
}

var (
	fullLook  = look{draw.Measured, false}
	openLook  = look{draw.Ink, true}
	faintLook = look{draw.Faint, true} // what a trend left out
)

// lookOf returns the style of a side if there are two: open for the left, filled for the
// right.
func lookOf(side string) look {
	if side == "left" {
		return openLook
	}
	return fullLook
}

// shapes gives each state's shape; any other state has a diamond.
var shapes = map[string]func(at point, r float64) []point{
	"cold":  func(at point, r float64) []point { return polygon(at, 1.15*r, 4, math.Pi/4) },
	"warm":  nil, // a disc
	"after": func(at point, r float64) []point { return polygon(at, 1.3*r, 3, -math.Pi/2) },
}

func polygon(at point, r float64, n int, turn float64) []point {
	pts := make([]point, n)
	for i := range pts {
		sin, cos := math.Sincos(turn + 2*math.Pi*float64(i)/float64(n))
		pts[i] = point{at.X + r*cos, at.Y + r*sin}
	}
	return pts
}

// mark draws a reading's mark: the shape shows its state, the style its side.
func (s *sheet) mark(at point, r float64, state string, h look) {
	shape, ok := shapes[state]
	switch {
	case ok && shape == nil && h.open:
		s.Ring(draw.Paper, 0, at, r)
		s.Ring(h.colour, 0.09*text, at, r)
	case ok && shape == nil:
		s.Ring(h.colour, 0, at, r)
	default:
		pts := polygon(at, 1.25*r, 4, 0)
		if ok {
			pts = shape(at, r)
		}
		if !h.open {
			s.Fill(h.colour, pts)
			return
		}
		s.Fill(draw.Paper, pts)
		s.Outline(draw.Pen{Colour: h.colour, Width: 0.09 * text}, pts)
	}
}

// entry is one entry of the key below a drawing.
type entry struct {
	words string
	draw  func(at point)
}

// key writes the entries below y, as many in a line as fit, and returns the y of their
// lower end.
func (s *sheet) key(x, y, right float64, es []entry) float64 {
	if len(es) == 0 {
		return y
	}
	y += 1.3 * text
	left := x
	for _, e := range es {
		words := s.L.Cut(draw.Sans, text, draw.Clean(e.words), right-left-1.2*text)
		w := 1.1*text + s.L.Width(draw.Sans, text, words)
		if x > left && x+w > right {
			x, y = left, y+1.3*text
		}
		e.draw(point{x + 0.4*text, y - 0.34*text})
		s.Text(label{words, x + 1.1*text, y, 0, text, draw.Sans, draw.Faint})
		x += w + 1.4*text
	}
	return y + 0.3*text
}
