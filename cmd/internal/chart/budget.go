package chart

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
)

// Budget draws an uncertainty budget: the standard uncertainty from each source, largest
// first, and the combined one. The row of the interaction is left out, since it is not a
// source.
func Budget(in BudgetData, opt Options) (*Drawing, error) {
	s, opt, err := start(opt)
	if err != nil {
		return nil, err
	}
	r := in.Reading
	if err := checkReading(r); err != nil {
		return nil, err
	}
	name := in.Name
	if name == nil {
		name = draw.Spaced
	}
	rows := slices.DeleteFunc(slices.Clone(r.Budget), func(b reading.BudgetRow) bool { return b.Source == uncertainty.Interaction })
	slices.SortStableFunc(rows, func(a, b reading.BudgetRow) int {
		// unknown ones come first: they may be the largest
		return cmp.Compare(magnitude(b), magnitude(a))
	})
	y := margin
	title := "what makes it uncertain"
	if !opt.Bare {
		v, u := opt.value(r.AngleDeg, r.IntervalDeg)
		y = s.head(title, in.Who, v, u)
	}
	d := &Drawing{Title: titled(title, in.Who), sheet: s}
	if len(rows) == 0 {
		s.Text(label{"no budget is known", margin, y + text, 0, text, draw.Sans, draw.Faint})
		s.end(y + 1.4*text)
		d.Alt = "no budget is known"
		return d, nil
	}
	c := budget{sheet: s, opt: opt, name: name}
	y = c.draw(rows, r.StandardUncertaintyDeg, y)
	if len(r.NotIncluded) > 0 {
		y = s.foot(y, "not included: "+strings.Join(r.NotIncluded, "; "), draw.Faint, 4)
	}
	s.end(y - 0.2*text)
	for i, b := range rows {
		if i > 0 {
			d.Alt += ", "
		}
		d.Alt += fmt.Sprintf("%s %s", draw.Clean(name(b.Source)), opt.source(b.StandardUncertaintyDeg))
	}
	return d, nil
}

func magnitude(b reading.BudgetRow) float64 {
	if !draw.Finite(b.StandardUncertaintyDeg) {
		return math.Inf(1)
	}
	return math.Abs(b.StandardUncertaintyDeg)
}

// source formats a source's standard uncertainty.
func (o Options) source(u float64) string {
	switch {
	case !draw.Finite(u):
		return "unknown"
	case math.Abs(u) < 0.005:
		return "under 0.01°"
	case math.Abs(u) < 0.095:
		return draw.Minus(fmt.Sprintf("%.2f", u)) + "°"
	}
	return draw.Minus(fmt.Sprintf("%.1f", u)) + "°"
}

type budget struct {
	*sheet
	opt  Options
	name func(string) string
}

// draw draws the rows below y, the row of the combined uncertainty, and the ruler.
func (c *budget) draw(rows []reading.BudgetRow, together, y float64) float64 {
	wide := 0.0
	for _, b := range rows {
		wide = max(wide, c.L.Width(draw.Sans, text, draw.Clean(c.name(b.Source))))
	}
	wide = min(max(wide, c.L.Width(draw.Sans, text, "together")), 0.36*c.W)
	left := margin + wide + 1.0*text
	value := c.L.Width(draw.Sans, text, "under 0.01°")
	share := c.L.Width(draw.Sans, text, "over 99 %")
	right := c.W - margin - value - share - 1.8*text
	k := draw.Scale{A: left, B: right}
	for _, b := range rows {
		if draw.Finite(b.StandardUncertaintyDeg) {
			k.From, k.To = min(k.From, b.StandardUncertaintyDeg), max(k.To, b.StandardUncertaintyDeg)
		}
	}
	if draw.Finite(together) {
		k.To = max(k.To, together)
	}
	k.To = max(1.04*k.To, 0.1)
	const high = 1.75 * text
	top := y
	y += float64(len(rows)+1)*high + 0.3*text
	var fine [][]point
	for _, d := range draw.Rounds(k, 4*text) {
		fine = append(fine, []point{{k.At(d), top}, {k.At(d), y}})
	}
	c.Lines(draw.Pen{Colour: draw.Rule, Width: 0.03 * text}, fine)
	row := func(i int, words string, u, part float64) {
		base := top + (float64(i)+0.7)*high
		c.Text(label{c.L.Cut(draw.Sans, text, draw.Clean(words), wide), margin, base, 0, text, draw.Sans, draw.Ink})
		b := box{k.At(0), base - 0.62*text, k.At(0), base + 0.02*text}
		switch {
		case !draw.Finite(u):
			c.Line(draw.Pen{Colour: draw.Ink, Width: 0.14 * text, Dash: dotted}, point{k.A, base - 0.3*text}, point{k.B, base - 0.3*text})
		case i == len(rows):
			b.X1 = k.At(u)
			c.Rect(draw.Measured, b)
		case u < 0:
			b.X0 = k.At(u)
			c.Rect(draw.White, b)
			c.Outline(draw.Pen{Colour: draw.Asked, Width: 0.07 * text}, draw.Corners(b))
		default:
			b.X1 = k.At(u)
			c.Rect(draw.Thin(draw.Asked, 0.62), b)
		}
		c.Text(label{c.opt.source(u), right + 1.0*text + value, base, 1, text, draw.Sans, draw.Ink})
		if draw.Finite(part) {
			c.Text(label{shareWords(part), c.W - margin, base, 1, text, draw.Sans, draw.Faint})
		}
	}
	for i, b := range rows {
		row(i, c.name(b.Source), b.StandardUncertaintyDeg, b.Share)
	}
	c.Line(draw.Pen{Colour: draw.Ink, Width: 0.05 * text}, point{margin, y - high - 0.15*text}, point{c.W - margin, y - high - 0.15*text})
	row(len(rows), "together", together, math.NaN())
	c.Line(draw.Pen{Colour: draw.Ink, Width: 0.05 * text}, point{k.A, y}, point{k.B, y})
	c.Hang(k, y)
	c.Figures(k, y+underTicks*text, 0)
	c.Text(label{"degrees", c.W - margin, y + underTicks*text, 1, text, draw.Sans, draw.Faint})
	return y + (underTicks+0.5)*text
}

// shareWords formats a share of the variance, which may be negative.
func shareWords(part float64) string {
	if part < 0 {
		return draw.Minus(fmt.Sprintf("%.0f", 100*part)) + " %"
	}
	return reading.Percent(part)
}
