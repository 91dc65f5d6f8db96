package chart

import (
	"image/color"
	"math"

	"ecart/cmd/internal/draw"
)

type (
	point = draw.Point
	box   = draw.Box
	label = draw.Label
)

// text is the size of text, in points.
const text = 9.0

// margin is the margin of a drawing, in points.
const margin = 0.9 * text

// Lengths in text sizes that all rulers share.
const (
	bandHigh   = draw.BandHigh
	underTicks = draw.UnderTicks
	lineStep   = draw.LineStep
	tickLong   = draw.TickLong
)

var dashed, dotted = draw.Dashed(text), draw.Dotted(text)

// sheet is a drawing in points of 1/72 inch.
type sheet struct{ *draw.Sheet }

// head writes the heading and returns the y below it.
func (s *sheet) head(title, who, value, plus string) float64 {
	return s.Head(margin, title, who, value, plus)
}

// foot writes words below y in at most maxLines lines, and returns the y of the lower end.
func (s *sheet) foot(y float64, words string, c color.NRGBA, maxLines int) float64 {
	lines := s.L.Wrap(draw.Sans, text, draw.Clean(words), s.W-2*margin, maxLines)
	if len(lines) == 0 {
		return y
	}
	for _, l := range lines {
		y += lineStep * text
		s.Text(label{l, margin, y, 0, text, draw.Sans, c})
	}
	return y + 0.3*text
}

// end sets the sheet's height to y and the margin.
func (s *sheet) end(y float64) { s.H = math.Ceil(y + margin) }

// stand draws the graduation of a vertical ruler, from x to the left, and its numbers: first
// the required ones, in ink, then round ones where there is room.
func (s *sheet) stand(k draw.Scale, x float64, required ...float64) {
	var ls [][]point
	for _, g := range draw.Graduations(k, text) {
		ls = append(ls, []point{{x, k.At(g.At)}, {x - g.Long, k.At(g.At)}})
	}
	s.Lines(draw.Pen{Colour: draw.Faint, Width: 0.035 * text}, ls)
	var taken []float64
	put := func(d float64, c color.NRGBA) {
		if !draw.Finite(d) || !k.In(d) {
			return
		}
		for _, y := range taken {
			if math.Abs(k.At(d)-y) < 1.2*text {
				return
			}
		}
		taken = append(taken, k.At(d))
		s.Text(label{draw.Deg(d), x - (tickLong+0.25)*text, k.At(d) + 0.35*text, 1, text, draw.Sans, c})
	}
	for _, d := range required {
		put(d, draw.Ink)
	}
	for _, d := range draw.Rounds(k, 2.2*text) {
		put(d, draw.Faint)
	}
}
