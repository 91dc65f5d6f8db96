package chart

import (
	"image/color"
	"math"

	"ecart/cmd/internal/hand"
)

// chances writes each band's deduction and probability under it, or, where the
// bands are too narrow for that, in a list with a sample of the hatching. It returns
// where they end.
func (s *sheet) chances(k hand.Scale, y float64, bands []hand.Band) float64 {
	if len(bands) == 0 {
		return y
	}
	likely, most := -1, 0.0 // none where they are not known
	for i, b := range bands {
		if b.Probability > most {
			likely, most = i, b.Probability
		}
	}
	colour := func(i int) color.NRGBA {
		if i == likely {
			return hand.Ink
		}
		return hand.Asked
	}
	y += 1.0 * text
	if cells, ok := s.cells(k, bands); ok {
		most := 0
		for i, c := range cells {
			most = max(most, len(c.lines))
			for j, line := range append(c.lines, chance(bands[i].Probability)) {
				s.text(label{line, c.x, y + float64(j)*lineStep*text, 0.5, text, hand.Sans, colour(i)})
			}
		}
		return y + (float64(most)*lineStep+0.3)*text
	}
	for i, b := range bands {
		prob := chance(b.Probability)
		sample := box{k.A, y - 0.76*text, k.A + 1.7*text, y + 0.06*text}
		s.hatch(sample, b.Hatch(text))
		s.outline(pen{colour: hand.Asked, width: 0.05 * text}, sample.corners())
		s.text(label{prob, k.B, y, 1, text, hand.Sans, colour(i)})
		room := k.B - k.A - 2.2*text - s.l.Width(hand.Sans, text, prob) - 0.6*text
		for _, line := range s.l.Wrap(hand.Sans, text, b.Words, room, 3) {
			s.text(label{line, k.A + 2.2*text, y, 0, text, hand.Sans, colour(i)})
			y += lineStep * text
		}
		y += 0.12 * text
	}
	return y - 0.7*text
}

// cell is a band's words under the ruler, centred at x.
type cell struct {
	x, half float64
	lines   []string
}

// cells places the bands' words side by side, each under its own band; false where
// they would not stand clear of each other there.
func (s *sheet) cells(k hand.Scale, bands []hand.Band) ([]cell, bool) {
	out := make([]cell, len(bands))
	for i, b := range bands {
		// The widest visible part is the band's place.
		lo, hi := 0.0, 0.0
		for _, p := range b.Parts {
			a, c := k.At(k.Keep(p[0])), k.At(k.Keep(p[1]))
			if c-a > hi-lo {
				lo, hi = a, c
			}
		}
		c := cell{x: (lo + hi) / 2, lines: s.l.Wrap(hand.Sans, text, b.Words, max(6*text, hi-lo), 3)}
		for _, w := range append([]string{chance(b.Probability)}, c.lines...) {
			c.half = max(c.half, s.l.Width(hand.Sans, text, w)/2)
		}
		c.x = min(max(c.x, k.A+c.half), k.B-c.half)
		if c.x < lo || c.x > hi {
			return nil, false
		}
		for _, o := range out[:i] {
			if math.Abs(c.x-o.x) < c.half+o.half+0.5*text {
				return nil, false
			}
		}
		out[i] = c
	}
	return out, true
}
