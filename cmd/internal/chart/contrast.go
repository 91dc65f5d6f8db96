package chart

import (
	"ecart/cmd/internal/change"
	"ecart/cmd/internal/draw"
)

// ContrastData is a contrast and whose it is.
type ContrastData struct {
	Who      string
	Contrast *change.Contrast
}

// Contrast draws one ruler with the mean angle in each of the two positions and the difference
// between them.
func Contrast(in ContrastData, opt Options) (*Drawing, error) {
	s, opt, err := start(opt)
	if err != nil {
		return nil, err
	}
	n := in.Contrast
	if n == nil {
		return nil, draw.Problem("make one of readings in two positions", "there is no contrast to draw")
	}
	of := &change.Screen{Measure: n.Measure, Gaps: []change.Gap{{Name: "further", From: n.Taut.Words, To: n.Slack.Words, Deg: n.FurtherDeg, IntervalDeg: n.IntervalDeg}}}
	for _, h := range []change.Half{n.Taut, n.Slack} {
		if !draw.Angles(h.AngleDeg) {
			return nil, draw.Problem(draw.ReadAgain, "the angle in the position %q is given as %g", h.Variant, h.AngleDeg)
		}
		of.Levels = append(of.Levels, change.Level{Condition: h.Words, AngleDeg: h.AngleDeg, IntervalDeg: h.IntervalDeg, Takes: h.Takes})
	}
	y := margin + 0.4*text
	if !opt.Bare {
		who := in.Who
		if !n.Day.IsZero() {
			who = joined(in.Who, n.Day.Format("2 January 2006"))
		}
		y = s.head(n.Title, who, "", "") + 0.4*text
	}
	d := &Drawing{Title: titled(n.Title, in.Who), Alt: draw.Clean(n.Sentence), sheet: s}
	wide := 0.0
	for _, l := range of.Levels {
		wide = max(wide, s.L.Width(draw.Italic, 1.15*text, draw.Spaced(l.Condition)))
	}
	c := lanes{sheet: s, opt: opt, n: of, first: margin + min(wide+text, 0.4*s.W), noAsk: true}
	c.first = max(c.first, margin+9.5*text)
	y = c.draw(y)
	if !opt.Bare {
		y = s.foot(y, n.Sentence, draw.Ink, 5)
	}
	s.end(y - 0.2*text)
	return d, nil
}
