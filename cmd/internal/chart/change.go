package chart

import (
	"fmt"
	"math"
	"slices"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/draw"
)

// dot is one reading on the drawing.
type dot struct {
	day      time.Time
	angle    float64
	interval [2]float64
	state    string
	side     string
	look     look
	nth, of  int  // index among the readings of its day, and their number
	leftOut  bool // of the trend
}

// Change draws angle against time: readings with their intervals, the trend with its
// band, the asked angle, and the smallest change that counts as real. If there are no
// readings, the drawing says so.
func Change(in ChangeData, opt Options) (*Drawing, error) {
	s, opt, err := start(opt)
	if err != nil {
		return nil, err
	}
	c := months{sheet: s, opt: opt, statures: in.Statures}
	for _, t := range in.Trends {
		if t != nil {
			c.trends = append(c.trends, t)
		}
	}
	if len(c.trends) > 2 {
		return nil, draw.Problem("draw one trend, or one of each side", "there are %d trends for one drawing", len(c.trends))
	}
	if len(c.trends) == 2 && c.trends[0].Measure != c.trends[1].Measure {
		return nil, draw.Problem("draw each by itself", "one trend is of %q and the other of %q", c.trends[0].Measure, c.trends[1].Measure)
	}
	if c.dots, err = dotsOf(in.Readings, c.trends); err != nil {
		return nil, err
	}
	measure := in.Measure
	for _, t := range c.trends {
		measure = first(measure, t.Measure)
		if t.AskedDeg != nil {
			c.asked, c.atMost = t.AskedDeg, t.AtMost
		}
	}
	if measure == "" && len(in.Readings) > 0 {
		measure = in.Readings[0].Measure
	}
	if c.asked != nil && !draw.Angles(*c.asked) {
		return nil, draw.Problem("check the rule book", "what is asked, %g degrees, is not an angle", *c.asked)
	}
	d := &Drawing{Title: titled(draw.MeasureTitle(measure)+" over time", in.Who), sheet: s}
	y := margin + 0.4*text
	if !opt.Bare {
		y = s.head(draw.MeasureTitle(measure), in.Who, "", "") + 0.4*text
	}
	if len(c.dots) == 0 {
		s.Text(label{wordNoReadings, margin, y + text, 0, text, draw.Sans, draw.Faint})
		s.end(y + 1.4*text)
		d.Alt = wordNoReadings
		return d, nil
	}
	y = c.draw(y)
	var sentences []string
	for _, t := range c.trends {
		words := draw.Clean(t.Sentence)
		if side := draw.Clean(t.Side); side != "" && len(c.trends) > 1 && words != "" {
			words = side + ": " + words
		}
		sentences = append(sentences, words)
	}
	if in.Sides != nil {
		sentences = append(sentences, draw.Clean(in.Sides.Sentence))
	}
	for _, words := range sentences {
		if !opt.Bare {
			y = s.foot(y, words, draw.Ink, 5)
		}
		if words != "" {
			if d.Alt != "" {
				d.Alt += ". "
			}
			d.Alt += words
		}
	}
	if d.Alt == "" {
		d.Alt = fmt.Sprintf("%d readings", len(c.dots))
	}
	s.end(y - 0.2*text)
	return d, nil
}

// dotsOf returns the readings, or the days of the trends if there are no readings.
func dotsOf(rs []change.Reading, trends []*change.Trend) ([]dot, error) {
	var out []dot
	two := len(trends) == 2
	sides := map[string]bool{}
	for i := range rs {
		sides[rs[i].Side] = true
	}
	two = two || sides["left"] && sides["right"]
	// leftOut reports whether r is in no trend: every trend of its side, or of no side, left it
	// out.
	leftOut := func(r *change.Reading) bool {
		out := false
		for _, t := range trends {
			if t.Side != "" && t.Side != r.Side {
				continue
			}
			if !slices.ContainsFunc(t.LeftOut, func(l change.LeftOut) bool { return l.ID == r.ID }) {
				return false
			}
			out = true
		}
		return out
	}
	add := func(d dot) error {
		if !draw.Angles(d.angle) {
			return draw.Problem(draw.ReadAgain, "the reading of %s has the angle %g, which is not one in degrees", d.day.Format("2 January 2006"), d.angle)
		}
		d.look = fullLook
		if two {
			d.look = lookOf(d.side)
		}
		if d.leftOut {
			d.look = faintLook
		}
		out = append(out, d)
		return nil
	}
	for i := range rs {
		r := &rs[i]
		d := dot{day: dayOf(r.Day), angle: r.AngleDeg, interval: intervalOf(r), state: r.State, side: r.Side, leftOut: leftOut(r)}
		if err := add(d); err != nil {
			return nil, err
		}
	}
	for _, t := range trends {
		if len(rs) > 0 {
			break
		}
		for _, v := range t.Days {
			if err := add(dot{day: dayOf(v.Day), angle: v.AngleDeg, interval: v.IntervalDeg, state: t.State, side: t.Side}); err != nil {
				return nil, err
			}
		}
	}
	slices.SortStableFunc(out, func(a, b dot) int { return a.day.Compare(b.day) })
	for i := 0; i < len(out); {
		j := i
		for j < len(out) && out[j].day.Equal(out[i].day) {
			j++
		}
		for n := i; n < j; n++ {
			out[n].nth, out[n].of = n-i, j-i
		}
		i = j
	}
	return out, nil
}

func dayOf(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
}

// intervalOf returns the 95 % interval of a reading: from its density, or from a normal
// distribution if it has none; NaN if its uncertainty is unknown.
func intervalOf(r *change.Reading) [2]float64 {
	total := 0.0
	for _, v := range r.Density.Values {
		total += v
	}
	if total > 0 && r.Density.StepDeg > 0 {
		quantile := func(p float64) float64 {
			sum := 0.0
			for i, v := range r.Density.Values {
				if sum+v >= p*total && v > 0 {
					return r.Density.FromDeg + r.Density.StepDeg*(float64(i)+(p*total-sum)/v)
				}
				sum += v
			}
			return r.Density.FromDeg + r.Density.StepDeg*float64(len(r.Density.Values))
		}
		return [2]float64{quantile(0.025), quantile(0.975)}
	}
	if !(r.StandardDeg > 0) {
		return [2]float64{math.NaN(), math.NaN()}
	}
	return [2]float64{r.AngleDeg - 1.96*r.StandardDeg, r.AngleDeg + 1.96*r.StandardDeg}
}
