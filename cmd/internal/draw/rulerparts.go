package draw

import (
	"image/color"
	"math"
)

// Dashes and dots of lines beside text of the given size.
func Dashed(size float64) []float64 { return []float64{0.34 * size, 0.24 * size} }
func Dotted(size float64) []float64 { return []float64{0.08 * size, 0.22 * size} }

// Head writes the heading: what is shown, of whom, and at the right the value with
// its uncertainty, with a margin around it. It returns where the rest begins.
func (s *Sheet) Head(margin float64, title, who, value, plus string) float64 {
	base, x := margin+1.05*s.T, s.W-margin
	if plus != "" {
		x -= s.Text(Label{plus, x, base, 1, 1.2 * s.T, Serif, Faint}) + 0.35*s.T
	}
	if value != "" {
		x -= s.Text(Label{value, x, base, 1, 1.6 * s.T, Serif, Ink}) + 0.8*s.T
	}
	room := x - margin
	title = s.L.Cut(Italic, 1.35*s.T, Clean(title), room)
	used := s.Text(Label{title, margin, base, 0, 1.35 * s.T, Italic, Asked}) + 0.6*s.T
	if who = Clean(who); who != "" && room-used > 2*s.T {
		s.Text(Label{s.L.Cut(Sans, s.T, who, room-used), margin + used, base, 0, s.T, Sans, Ink})
	}
	return margin + 2*s.T
}

// Hang draws the strokes of a lying scale from its edge at y downwards.
func (s *Sheet) Hang(k Scale, y float64) {
	var ls [][]Point
	for _, g := range Graduations(k, s.T) {
		ls = append(ls, []Point{{k.At(g.At), y}, {k.At(g.At), y + g.Long}})
	}
	s.Lines(Pen{Colour: Faint, Width: 0.035 * s.T}, ls)
}

// Figures writes degrees under a lying scale with their base line at y: must first, in
// ink, then round ones, where there is room.
func (s *Sheet) Figures(k Scale, y float64, must ...float64) {
	var taken [][2]float64
	put := func(d float64, c color.NRGBA) {
		if !Finite(d) || !k.In(d) {
			return
		}
		x, half := k.At(d), s.L.Width(Sans, s.T, Deg(d))/2
		if x < k.A+half-0.3*s.T || x > k.B-half+0.3*s.T {
			return
		}
		for _, o := range taken {
			if x-half < o[1]+0.55*s.T && x+half > o[0]-0.55*s.T {
				return
			}
		}
		taken = append(taken, [2]float64{x - half, x + half})
		s.Text(Label{Deg(d), x, y, 0.5, s.T, Sans, c})
	}
	for _, d := range must {
		put(d, Ink)
	}
	for _, d := range Rounds(k, s.L.Width(Sans, s.T, "000")+1.6*s.T) {
		put(d, Faint)
	}
}

// Notch marks what is asked on a lying scale, from y0 to y1.
func (s *Sheet) Notch(x, y0, y1 float64) {
	s.Line(Pen{Colour: Ink, Width: 0.08 * s.T}, Point{x, y0}, Point{x, y1})
	s.Fill(Ink, []Point{{x - 0.2*s.T, y0 - 0.04*s.T}, {x + 0.2*s.T, y0 - 0.04*s.T}, {x, y0 + 0.3*s.T}})
}

// Bar draws an interval along k at the given place across: a bar with a foot at either
// end, an arrow where it goes on beyond the scale, and a dotted line over the whole of
// the scale where the interval is not known.
func (s *Sheet) Bar(k Scale, across float64, iv [2]float64, c color.NRGBA, thick float64) {
	upright := k.B < k.A
	at := func(along, off float64) Point {
		if upright {
			return Point{across + off, along}
		}
		return Point{along, across + off}
	}
	if !Known(iv) {
		s.Line(Pen{Colour: c, Width: thick, Dash: Dotted(s.T)}, at(k.A, 0), at(k.B, 0))
		return
	}
	if iv[1] <= k.From || iv[0] >= k.To {
		return
	}
	lo, hi := k.At(k.Keep(iv[0])), k.At(k.Keep(iv[1]))
	s.Fill(c, []Point{at(lo, -thick/2), at(hi, -thick/2), at(hi, thick/2), at(lo, thick/2)})
	foot := 0.23 * s.T
	way := 1.0 // along the scale, towards its end
	if upright {
		way = -1
	}
	for i, e := range []float64{lo, hi} {
		if beyond := i == 0 && iv[0] < k.From || i == 1 && iv[1] > k.To; !beyond {
			s.Line(Pen{Colour: c, Width: 0.07 * s.T}, at(e, -foot), at(e, foot))
			continue
		}
		out := way
		if i == 0 {
			out = -way
		}
		s.Fill(c, []Point{at(e-0.1*s.T*out, -foot), at(e+0.5*s.T*out, 0), at(e-0.1*s.T*out, foot)})
	}
}

// Chances writes under the ruler k, from y on, each band's deduction and probability
// under the band, or, where the bands are too narrow for that, in a list with a sample of
// the hatching. It returns where the words end.
func (s *Sheet) Chances(k Ruler, y float64) float64 {
	if len(k.bands) == 0 {
		return y
	}
	likely, most := -1, 0.0 // none where they are not known
	for i, b := range k.bands {
		if b.Probability > most {
			likely, most = i, b.Probability
		}
	}
	colour := func(i int) color.NRGBA {
		if i == likely {
			return Ink
		}
		return Asked
	}
	y += 1.0 * s.T
	if cells, ok := s.cells(k); ok {
		most := 0
		for i, c := range cells {
			most = max(most, len(c.lines))
			for j, line := range append(c.lines, chance(k.bands[i].Probability)) {
				s.Text(Label{line, c.x, y + float64(j)*LineStep*s.T, 0.5, s.T, Sans, colour(i)})
			}
		}
		return y + (float64(most)*LineStep+0.3)*s.T
	}
	for i, b := range k.bands {
		prob := chance(b.Probability)
		sample := Box{k.A, y - 0.76*s.T, k.A + 1.7*s.T, y + 0.06*s.T}
		s.Hatch(sample, b.Hatch(s.T))
		s.Outline(Pen{Colour: Asked, Width: 0.05 * s.T}, Corners(sample))
		s.Text(Label{prob, k.B, y, 1, s.T, Sans, colour(i)})
		room := k.B - k.A - 2.2*s.T - s.L.Width(Sans, s.T, prob) - 0.6*s.T
		for _, line := range s.L.Wrap(Sans, s.T, b.Words, room, 3) {
			s.Text(Label{line, k.A + 2.2*s.T, y, 0, s.T, Sans, colour(i)})
			y += LineStep * s.T
		}
		y += 0.12 * s.T
	}
	return y - 0.7*s.T
}

// cell is a band's words under the ruler, centred at x.
type cell struct {
	x, half float64
	lines   []string
}

// cells places the bands' words side by side, each under its own band; false where
// they would not stand clear of each other there.
func (s *Sheet) cells(k Ruler) ([]cell, bool) {
	out := make([]cell, len(k.bands))
	for i, b := range k.bands {
		// The widest visible part is the band's place.
		lo, hi := 0.0, 0.0
		for _, p := range b.Parts {
			a, c := k.At(k.Keep(p[0])), k.At(k.Keep(p[1]))
			if c-a > hi-lo {
				lo, hi = a, c
			}
		}
		c := cell{x: (lo + hi) / 2, lines: s.L.Wrap(Sans, s.T, b.Words, max(6*s.T, hi-lo), 3)}
		for _, w := range append([]string{chance(b.Probability)}, c.lines...) {
			c.half = max(c.half, s.L.Width(Sans, s.T, w)/2)
		}
		c.x = min(max(c.x, k.A+c.half), k.B-c.half)
		if c.x < lo || c.x > hi {
			return nil, false
		}
		for _, o := range out[:i] {
			if math.Abs(c.x-o.x) < c.half+o.half+0.5*s.T {
				return nil, false
			}
		}
		out[i] = c
	}
	return out, true
}
