package chart

import (
	"fmt"
	"math"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/draw"
)

// Group draws a forest plot: the change of each athlete in degrees, the largest first, and
// below them the mean of all as a diamond as wide as its interval.
func Group(in GroupData, opt Options) (*Drawing, error) {
	s, opt, err := start(opt)
	if err != nil {
		return nil, err
	}
	g := in.Group
	if g == nil || len(g.Members) == 0 {
		return nil, draw.Problem("keep readings on two days of each", "there is no change of a group to draw")
	}
	for _, m := range g.Members {
		if !draw.Angles(m.ChangeDeg) {
			return nil, draw.Problem(draw.ReadAgain, "the change of %q, %g degrees, is no angle", draw.Clean(m.Athlete), m.ChangeDeg)
		}
	}
	title := draw.MeasureTitle(g.Measure)
	y := margin + 0.4*text
	if !opt.Bare {
		y = s.head(title, first(draw.Clean(in.Title), "the group"), "", "") + 0.4*text
	}
	c := groupDrawing{sheet: s, opt: opt, g: g, left: margin + 9.5*text, right: s.W - margin - 12.5*text}
	y = c.draw(y)
	if !opt.Bare {
		y = s.foot(y+0.5*text, draw.Minus(draw.Clean(g.Sentence)), draw.Ink, 3)
		if g.Month != nil {
			y = s.foot(y, draw.Minus(draw.Clean(g.Month.Words())), draw.Ink, 3)
		}
	}
	s.end(y)
	d := &Drawing{Title: titled(title+", the change of a group", draw.Clean(in.Title)), Alt: draw.Minus(draw.Clean(g.Sentence)), sheet: s}
	for _, m := range g.Members {
		v, u := c.value(m.ChangeDeg, m.SmallestDeg)
		d.Alt += "; " + first(draw.Clean(m.Athlete), "no name") + ": " + v + " " + u + ", " + change.ClassWords[m.Class]
	}
	return d, nil
}

// groupDrawing is the layout of a group: names to the left of left, the ruler, words to the
// right of right.
type groupDrawing struct {
	*sheet
	opt         Options
	g           *change.Group
	left, right float64
	k           draw.Scale
}

// Heights of a row and of the room around the mean, in text sizes.
const (
	groupRow   = 1.75
	groupLeast = 1.35 // with many athletes
	meanRow    = 2.5
)

// value formats a change with its sign, and the half width of its interval.
func (c *groupDrawing) value(deg, half float64) (v, plus string) {
	a, u := c.opt.Format(deg, half)
	if deg >= 0 {
		a = "+" + a
	}
	return draw.Minus(a) + "°", "± " + u
}

func (c *groupDrawing) draw(y float64) float64 {
	c.k = draw.Scale{A: c.left, B: c.right}
	var e draw.Extent
	e.Hold(0)
	for _, m := range c.g.Members {
		e.Hold(m.ChangeDeg)
		e.Interval(m.IntervalDeg)
	}
	means := c.means()
	for _, m := range means {
		e.Hold(m.p.MeanDeg)
		e.Interval(m.p.IntervalDeg)
	}
	c.k.From, c.k.To = e.Ends(c.opt.RangeDeg)
	c.Text(label{"change, degrees", margin, y + text, 0, text, draw.Italic, draw.Asked})
	c.Figures(c.k, y+text, 0)
	y += 1.5 * text
	top := y
	row := groupRow * text
	const many = 24
	if len(c.g.Members) > many {
		row = groupLeast * text
	}
	bottom := y + row*float64(len(c.g.Members)) + 0.6*text + meanRow*text*float64(len(means))
	c.ground(top, bottom)
	for _, m := range c.g.Members {
		c.member(m, y+row/2)
		y += row
	}
	if len(means) > 0 {
		y += 0.3 * text
		c.Line(draw.Pen{Colour: draw.Rule, Width: 0.06 * text}, point{margin, y}, point{c.W - margin, y})
		y += 0.3 * text
	}
	for _, m := range means {
		c.mean(m, y+meanRow*text/2)
		y += meanRow * text
	}
	return y
}

// ground draws the lines of the ruler, with 0 in ink, and shades the changes too small to
// matter (WorthDeg).
func (c *groupDrawing) ground(top, bottom float64) {
	small := box{c.k.At(c.k.Keep(-c.g.WorthDeg)), top, c.k.At(c.k.Keep(c.g.WorthDeg)), bottom}
	c.Rect(draw.Thin(draw.Asked, 0.1), small)
	var fine [][]point
	for _, d := range draw.Rounds(c.k, c.L.Width(draw.Sans, text, "000")+1.6*text) {
		if c.k.In(d) {
			fine = append(fine, []point{{c.k.At(d), top}, {c.k.At(d), bottom}})
		}
	}
	c.Lines(draw.Pen{Colour: draw.Rule, Width: 0.03 * text}, fine)
	c.Line(draw.Pen{Colour: draw.Ink, Width: 0.06 * text}, point{c.k.At(0), top}, point{c.k.At(0), bottom})
}

// member draws one athlete's row centred at y. The mark is filled if the change stays real
// in the comparison of all athletes (RealAmongAll).
func (c *groupDrawing) member(m change.Member, y float64) {
	base := y + 0.35*text
	c.Text(label{c.L.Cut(draw.Sans, text, first(draw.Clean(m.Athlete), "no name"), c.left-margin-0.8*text), margin, base, 0, text, draw.Sans, draw.Ink})
	colour := draw.Measured
	if m.Class == change.NotKnown {
		colour = draw.Faint
	}
	c.Bar(c.k, y, m.IntervalDeg, colour, 0.1*text)
	if c.k.In(m.ChangeDeg) {
		at := point{c.k.At(m.ChangeDeg), y}
		c.mark(at, 0.3*text, "warm", look{colour, !m.RealAmongAll})
	}
	c.words(m.ChangeDeg, m.SmallestDeg, c.verdict(m), base)
}

func (c *groupDrawing) verdict(m change.Member) string {
	words := change.ClassWords[m.Class]
	if m.RealAmongAll {
		words += ", sure"
	}
	return words
}

// words writes a value and its verdict to the right of the ruler.
func (c *groupDrawing) words(deg, half float64, what string, base float64) {
	x := c.right + 0.9*text
	v, u := c.value(deg, half)
	x += c.Text(label{v, x, base, 0, 1.15 * text, draw.Serif, draw.Ink}) + 0.3*text
	x += c.Text(label{u, x, base, 0, text, draw.Serif, draw.Faint}) + 0.6*text
	if room := c.W - margin - x; room > 2*text {
		c.Text(label{c.L.Cut(draw.Sans, smallText, what, room), x, base, 0, smallText, draw.Sans, draw.Faint})
	}
}

// pooled is a mean with its name.
type pooled struct {
	name, note string
	p          *change.Pooled
}

func (c *groupDrawing) means() (out []pooled) {
	if p := c.g.Mean; p != nil {
		out = append(out, pooled{"mean of all", fmt.Sprintf("%d athletes", p.Athletes), p})
	}
	if m := c.g.Month; m != nil {
		out = append(out, pooled{m.Month.Format("January"), fmt.Sprintf("from %s, %d athletes", m.Before.Format("Jan"), m.Athletes), &m.Pooled})
	}
	return out
}

// mean draws the mean of several athletes centred at y: a diamond as wide as its interval.
func (c *groupDrawing) mean(m pooled, y float64) {
	base := y + 0.1*text
	room := c.left - margin - 0.8*text
	c.Text(label{c.L.Cut(draw.Italic, 1.1*text, m.name, room), margin, base, 0, 1.1 * text, draw.Italic, draw.Asked})
	c.Text(label{c.L.Cut(draw.Sans, smallText, m.note, room), margin, base + 0.95*text, 0, smallText, draw.Sans, draw.Faint})
	lo, hi := c.k.Keep(m.p.IntervalDeg[0]), c.k.Keep(m.p.IntervalDeg[1])
	high := 0.55 * text
	pts := []point{{c.k.At(lo), y}, {c.k.At(c.k.Keep(m.p.MeanDeg)), y - high}, {c.k.At(hi), y}, {c.k.At(c.k.Keep(m.p.MeanDeg)), y + high}}
	if m.p.Real {
		c.Fill(draw.Measured, pts)
	} else {
		c.Fill(draw.Paper, pts)
		c.Outline(draw.Pen{Colour: draw.Measured, Width: 0.1 * text}, pts)
	}
	what := "real"
	if !m.p.Real {
		what = change.ClassWords[change.NotKnown]
	}
	c.words(m.p.MeanDeg, math.Abs(m.p.SmallestDeg), what, y+0.35*text)
}
