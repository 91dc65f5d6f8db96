package draw

import (
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

// NewRuler lays the ruler of r from a to b. Its ends are fixed, or, where that has no
// width, chosen so that the density and the edges of the bands show.
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

// Edges makes e show the edges of bands on the side of 0 on which r is.
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

// Ruler draws k with its top at y: density and interval, bands, what is asked, degrees.
// It returns where the ruler ends.
func (s *Sheet) Ruler(k Ruler, y float64) float64 {
	y += CurveHigh * s.T
	strip := Box{k.A, y, k.B, y}
	if len(k.bands) > 0 {
		strip = Box{k.A, y + OverNotch*s.T, k.B, y + (OverNotch+BandHigh)*s.T}
	}
	s.Reading(k.Scale, strip.Y0, k.reading, CurveHigh*s.T)
	s.Strip(strip, k.Scale, k.bands)
	s.Hang(k.Scale, strip.Y1)
	must := []float64{k.asked}
	if Finite(k.asked) {
		s.Notch(k.At(k.asked), strip.Y0-CurveHigh*s.T, strip.Y1+TickLong*s.T)
		s.Text(s.AskedLabel(k, strip.Y0-(CurveHigh+0.3)*s.T))
	}
	for _, b := range k.bands {
		for _, p := range b.Parts {
			must = append(must, p[0], p[1])
		}
	}
	s.Figures(k.Scale, strip.Y1+UnderTicks*s.T, must...)
	return strip.Y1 + (UnderTicks+0.3)*s.T
}

// AskedLabel is the word over the notch of k; its text is empty where there is no notch.
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
// strip; an ink line where there are none. A band that goes on beyond k has no end.
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
