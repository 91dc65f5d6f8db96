package draw

import (
	"image/color"
	"math"

	"ecart/cmd/internal/reading"
)

// The parts of a ruler from top to bottom, in text sizes.
const (
	OverNotch  = 1.15 // the word at the notch
	CurveHigh  = 2.3
	BandHigh   = 0.95
	UnderTicks = 1.32 // from the band's edge to the base line of the figures
	LineStep   = 1.16
)

// finest is the narrowest bin of a density that is drawn by itself, in text sizes.
const finest = 1.0 / 9

// Ruler is the scale of one reading with the bands that lie on it.
type Ruler struct {
	Scale
	reading *reading.Reading
	bands   []Band
	asked   float64 // degrees; NaN where nothing is asked or it lies beyond the scale
}

// NewRuler returns the ruler of r from a to b. It covers the angles fixed or, if fixed has
// no width, the density and the edges of the bands.
func NewRuler(r *reading.Reading, fixed [2]float64, a, b float64) Ruler {
	k := Ruler{Scale{A: a, B: b}, r, Bands(r), math.NaN()}
	var e Extent
	e.Reading(r)
	if len(k.bands) > 0 && r.Skill.AtMost {
		e.Hold(0) // one side is enough if the reading stays on it
	}
	e.Edges(r, k.bands)
	k.From, k.To = e.Ends(fixed)
	if !(fixed[0] < fixed[1]) {
		room := 0.09 * (k.To - k.From)
		k.From, k.To = k.From-room, k.To+room
	}
	if len(k.bands) > 0 && k.In(r.AngleAt(0)) {
		k.asked = r.AngleAt(0)
	}
	return k
}

// Reading makes e show all but a thousandth of r's density, and its interval.
func (e *Extent) Reading(r *reading.Reading) {
	e.Hold(r.AngleDeg)
	e.Interval(r.IntervalDeg)
	lo, hi := Bulk(r.Density)
	e.Interval([2]float64{lo, hi})
}

// Edges makes e show the edges of the bands that lie on the same side of 0 as r.
func (e *Extent) Edges(r *reading.Reading, bands []Band) {
	for _, b := range bands {
		for _, p := range b.Parts {
			for _, v := range p {
				if r.Skill.AtMost && !r.Skill.OneWay && v*r.AngleDeg < 0 && math.Abs(v) > r.Skill.ThresholdDeg {
					continue
				}
				e.Hold(v)
			}
		}
	}
}

// Ruler draws k with its top at y: density and interval, bands, the asked angle, degrees.
// It returns the y of its lower end.
func (s *Sheet) Ruler(k Ruler, y float64) float64 {
	y += CurveHigh * s.T
	strip := Box{k.A, y, k.B, y}
	if len(k.bands) > 0 {
		strip = Box{k.A, y + OverNotch*s.T, k.B, y + (OverNotch+BandHigh)*s.T}
	}
	s.Reading(k.Scale, strip.Y0, k.reading, CurveHigh*s.T)
	s.Strip(strip, k.Scale, k.bands)
	s.Hang(k.Scale, strip.Y1)
	required := []float64{k.asked} // degrees to label first
	if Finite(k.asked) {
		s.Notch(k.At(k.asked), strip.Y0-CurveHigh*s.T, strip.Y1+TickLong*s.T)
		s.Text(s.AskedLabel(k, strip.Y0-(CurveHigh+0.3)*s.T))
	}
	for _, b := range k.bands {
		for _, p := range b.Parts {
			required = append(required, p[0], p[1])
		}
	}
	s.Figures(k.Scale, strip.Y1+UnderTicks*s.T, required...)
	return strip.Y1 + (UnderTicks+0.3)*s.T
}

// AskedLabel returns the label over the notch of k; its text is empty if there is no notch.
func (s *Sheet) AskedLabel(k Ruler, y float64) Label {
	if !Finite(k.asked) {
		return Label{}
	}
	word := AskedWords(k.reading.Skill.ThresholdDeg, k.reading.Skill.AtMost)
	half := s.L.Width(Sans, s.T, word) / 2
	return Label{word, min(max(k.At(k.asked), k.A+half), k.B-half), y, 0.5, s.T, Sans, Ink}
}

// Reading draws the density of r, its interval and its value on the line at y.
func (s *Sheet) Reading(k Scale, y float64, r *reading.Reading, high float64) {
	top := y - 0.86*high
	pts := Outline(r.Density, k, finest*s.T, y, high)
	at := k.At(r.AngleDeg)
	if len(pts) > 0 {
		top = min(Top(pts, at, y), y-0.5*s.T)
		s.Fill(Thin(Measured, 0.26), pts)
		s.Line(Pen{Colour: Measured, Width: 0.05 * s.T}, pts[1:len(pts)-1]...)
		s.Line(Pen{Colour: Measured, Width: 0.05 * s.T}, pts[0], pts[len(pts)-1])
	}
	if k.In(r.AngleDeg) {
		s.Line(Pen{Colour: Measured, Width: 0.07 * s.T}, Point{at, y}, Point{at, top})
	}
	s.Bar(k, y-0.2*s.T, r.IntervalDeg, Measured, 0.14*s.T)
}

// Strip draws bands along k within b, which has the length of k and the thickness of the
// strip; without bands it draws an ink line. A band that extends beyond k has no end line
// there.
func (s *Sheet) Strip(b Box, k Scale, bands []Band) {
	edge := Pen{Colour: Asked, Width: 0.05 * s.T}
	upright := k.B < k.A
	for _, d := range bands {
		for _, p := range d.Parts {
			lo, hi := max(p[0], k.From), min(p[1], k.To)
			if lo >= hi {
				continue
			}
			z := Box{k.At(lo), b.Y0, k.At(hi), b.Y1}
			if upright {
				z = Box{b.X0, k.At(hi), b.X1, k.At(lo)}
			}
			s.Hatch(z, d.Hatch(s.T))
			c := Corners(z)
			along, ends := [][]Point{{c[0], c[1]}, {c[3], c[2]}}, [][]Point{{c[0], c[3]}, {c[1], c[2]}}
			if upright {
				along, ends = ends, [][]Point{{c[3], c[2]}, {c[0], c[1]}}
			}
			if p[0] >= k.From {
				along = append(along, ends[0])
			}
			if p[1] <= k.To {
				along = append(along, ends[1])
			}
			s.Lines(edge, along)
		}
	}
	if len(bands) == 0 {
		s.Line(Pen{Colour: Ink, Width: 0.05 * s.T}, Point{k.A, b.Y1}, Point{k.B, b.Y1})
	}
}

// Dashes and dots of lines beside text of the given size.
func Dashed(size float64) []float64 { return []float64{0.34 * size, 0.24 * size} }
func Dotted(size float64) []float64 { return []float64{0.08 * size, 0.22 * size} }

// Head writes the heading: the title and the athlete, and at the right the value and its
// uncertainty. It returns the y below the heading.
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

// Hang draws the graduation of a horizontal scale, from y downwards.
func (s *Sheet) Hang(k Scale, y float64) {
	var ls [][]Point
	for _, g := range Graduations(k, s.T) {
		ls = append(ls, []Point{{k.At(g.At), y}, {k.At(g.At), y + g.Long}})
	}
	s.Lines(Pen{Colour: Faint, Width: 0.035 * s.T}, ls)
}

// Figures writes degrees under a horizontal scale with their base line at y, where there is
// room: first the required ones, in ink, then round ones.
func (s *Sheet) Figures(k Scale, y float64, required ...float64) {
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
	for _, d := range required {
		put(d, Ink)
	}
	for _, d := range Rounds(k, s.L.Width(Sans, s.T, "000")+1.6*s.T) {
		put(d, Faint)
	}
}

// Notch marks the asked angle at x on a horizontal scale, from y0 to y1.
func (s *Sheet) Notch(x, y0, y1 float64) {
	s.Line(Pen{Colour: Ink, Width: 0.08 * s.T}, Point{x, y0}, Point{x, y1})
	s.Fill(Ink, []Point{{x - 0.2*s.T, y0 - 0.04*s.T}, {x + 0.2*s.T, y0 - 0.04*s.T}, {x, y0 + 0.3*s.T}})
}

// Bar draws an interval along k, at the coordinate across the scale: a bar with a foot at
// each end, or an arrow if it extends beyond the scale. If the interval is unknown, it draws
// a dotted line over the whole scale.
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
	forward := 1.0 // sign of the direction of rising values
	if upright {
		forward = -1
	}
	for i, e := range []float64{lo, hi} {
		if beyond := i == 0 && iv[0] < k.From || i == 1 && iv[1] > k.To; !beyond {
			s.Line(Pen{Colour: c, Width: 0.07 * s.T}, at(e, -foot), at(e, foot))
			continue
		}
		out := forward
		if i == 0 {
			out = -forward
		}
		s.Fill(c, []Point{at(e-0.1*s.T*out, -foot), at(e+0.5*s.T*out, 0), at(e-0.1*s.T*out, foot)})
	}
}

// Chances writes each band's deduction and probability under the ruler k, from y on: under
// the band or, if the bands are too narrow, in a list with samples of the hatching. It
// returns the y of the lower end.
func (s *Sheet) Chances(k Ruler, y float64) float64 {
	if len(k.bands) == 0 {
		return y
	}
	likely, highest := -1, 0.0 // the most probable band; -1 if the probabilities are unknown
	for i, b := range k.bands {
		if b.Probability > highest {
			likely, highest = i, b.Probability
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
		rows := 0
		for i, c := range cells {
			rows = max(rows, len(c.lines))
			for j, line := range append(c.lines, chance(k.bands[i].Probability)) {
				s.Text(Label{line, c.x, y + float64(j)*LineStep*s.T, 0.5, s.T, Sans, colour(i)})
			}
		}
		return y + (float64(rows)*LineStep+0.3)*s.T
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

// cells places the bands' words side by side, each under its own band. It reports false if
// they would overlap or leave their band.
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
