package chart

import (
	"fmt"
	"math"

	"ecart/cmd/internal/hand"
	"ecart/cmd/internal/reading"
)

// Ruler draws one reading on the ruler: what is asked, the bands hatched with the
// probability of each under it, the density and the interval.
func Ruler(in RulerData, opt Options) (*Drawing, error) {
	s, opt, err := start(opt)
	if err != nil {
		return nil, err
	}
	r := in.Reading
	if err := checkReading(r); err != nil {
		return nil, err
	}
	value, plus := opt.value(r.AngleDeg, r.IntervalDeg)
	y := margin
	if !opt.Bare {
		y = s.head(hand.MeasureTitle(r.Measure), in.Who, value, plus)
	}
	bands := hand.Bands(r)
	k := hand.Scale{A: margin, B: s.W - margin}
	k.From, k.To = rulerSpan(r, bands, opt)
	y += s.rulerHigh(bands)
	s.reading(k, y, r, curveHigh*text)
	strip := box{k.A, y, k.B, y}
	if len(bands) > 0 {
		strip.Y1 += bandHigh * text
	}
	s.ruler(k, strip, r, bands)
	y = s.chances(k, strip.Y1+(underTicks+0.3)*text, bands)
	s.end(y - 0.3*text)
	d := &Drawing{Title: titled(hand.MeasureTitle(r.Measure), in.Who), sheet: s}
	d.Alt = joined(value+" "+plus, opt.between(r.IntervalDeg))
	if r.Skill != nil {
		d.Alt += "; " + hand.AskedWords(r.Skill.ThresholdDeg, r.Skill.AtMost)
	}
	if v := verdictWords(r); v != "" {
		d.Alt += ": " + v
	}
	for _, b := range bands {
		d.Alt += fmt.Sprintf("; %s in %s", b.Words, hand.Of100(b.Probability))
	}
	return d, nil
}

func titled(title, who string) string {
	if who = hand.Clean(who); who != "" {
		return title + ", " + who
	}
	return title
}

func (s *sheet) rulerHigh(bands []hand.Band) float64 {
	if len(bands) > 0 {
		return (curveHigh + overNotch) * text
	}
	return curveHigh * text
}

// rulerSpan chooses the ends of the ruler: wide enough for the reading's density and
// for every band, with some of what lies beyond the last edges.
func rulerSpan(r *reading.Reading, bands []hand.Band, opt Options) (from, to float64) {
	var e extent
	e.bulk(r)
	if len(bands) > 0 && r.Skill.AtMost {
		e.hold(0) // one side will do if the reading stays on it
	}
	e.edges(r, bands)
	from, to = e.ends(opt)
	if opt.RangeDeg[0] < opt.RangeDeg[1] {
		return from, to
	}
	room := 0.09 * (to - from)
	return from - room, to + room
}

// edges makes e show the edges of bands.
func (e *extent) edges(r *reading.Reading, bands []hand.Band) {
	for _, b := range bands {
		for _, p := range b.Parts {
			for _, v := range p {
				if r.Skill.AtMost && v*r.AngleDeg < 0 && math.Abs(v) > r.Skill.ThresholdDeg {
					continue
				}
				e.hold(v)
			}
		}
	}
}

// finest is the narrowest bin of a density that is drawn by itself, in points.
const finest = 1.0

// reading draws the density of r, its interval and its value on the line at y.
func (s *sheet) reading(k hand.Scale, y float64, r *reading.Reading, high float64) {
	top := y - 0.86*high
	pts := hand.Outline[point](r.Density, k, finest, y, high)
	at := k.At(r.AngleDeg)
	if len(pts) > 0 {
		top = hand.Top(pts, at, y)
		top = min(top, y-0.5*text)
		s.fill(hand.Thin(hand.Measured, 0.26), pts)
		s.line(pen{colour: hand.Measured, width: 0.05 * text}, pts[1:len(pts)-1]...)
		s.line(pen{colour: hand.Measured, width: 0.05 * text}, pts[0], pts[len(pts)-1])
	}
	if k.In(r.AngleDeg) {
		s.line(pen{colour: hand.Measured, width: 0.07 * text}, point{at, y}, point{at, top})
	}
	s.bar(k, y-0.2*text, r.IntervalDeg, hand.Measured, 0.14*text)
}

// ruler draws the strip with its bands, what is asked and the degrees.
func (s *sheet) ruler(k hand.Scale, strip box, r *reading.Reading, bands []hand.Band) {
	s.strip(strip, k, bands)
	if len(bands) == 0 {
		s.line(pen{colour: hand.Ink, width: 0.05 * text}, point{k.A, strip.Y1}, point{k.B, strip.Y1})
	}
	s.hang(k, strip.Y1)
	var must []float64
	if len(bands) > 0 {
		ask := r.Skill.ThresholdDeg
		if r.Skill.AtMost && r.AngleDeg < 0 {
			ask = -ask
		}
		if k.In(ask) {
			x := k.At(ask)
			s.notch(x, strip.Y0-(curveHigh)*text, strip.Y1+tickLong*text)
			word := hand.AskedWords(r.Skill.ThresholdDeg, r.Skill.AtMost)
			half := s.l.Width(hand.Sans, text, word) / 2
			s.text(label{word, min(max(x, k.A+half), k.B-half), strip.Y0 - (curveHigh+0.3)*text, 0.5, text, hand.Sans, hand.Ink})
			must = append(must, ask)
		}
	}
	for _, b := range bands {
		for _, p := range b.Parts {
			must = append(must, p[0], p[1])
		}
	}
	s.figures(k, strip.Y1+underTicks*text, must...)
}
