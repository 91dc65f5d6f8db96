package chart

import (
	"fmt"

	"ecart/cmd/internal/draw"
)

// Ruler draws one reading on the ruler: the asked angle, the hatched bands with their
// probabilities, the density and the interval.
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
		y = s.head(draw.MeasureTitle(r.Measure), in.Who, value, plus)
	}
	k := draw.NewRuler(r, opt.RangeDeg, margin, s.W-margin)
	y = s.Chances(k, s.Ruler(k, y))
	s.end(y - 0.3*text)
	d := &Drawing{Title: titled(draw.MeasureTitle(r.Measure), in.Who), sheet: s}
	d.Alt = joined(value+" "+plus, opt.between(r.IntervalDeg))
	if r.Skill != nil {
		d.Alt += "; " + draw.AskedWords(r.Skill.ThresholdDeg, r.Skill.AtMost)
	}
	if v := verdictWords(r); v != "" {
		d.Alt += ": " + v
	}
	for _, b := range draw.Bands(r) {
		d.Alt += fmt.Sprintf("; %s in %s", b.Words, draw.Of100(b.Probability))
	}
	return d, nil
}

func titled(title, who string) string {
	if who = draw.Clean(who); who != "" {
		return title + ", " + who
	}
	return title
}
