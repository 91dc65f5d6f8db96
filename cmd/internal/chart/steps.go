package chart

import (
	"fmt"
	"slices"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/draw"
)

// Steps draws differences within sessions: the states side by side, and from one state to
// the next a line that opens into the interval of the difference. The latest sessions are
// drawn in full, earlier ones faintly.
func Steps(in StepsData, opt Options) (*Drawing, error) {
	s, opt, err := start(opt)
	if err != nil {
		return nil, err
	}
	title := draw.MeasureTitle(in.Measure)
	d := &Drawing{Title: titled(title+", before and after", in.Who), sheet: s}
	y := margin + 0.4*text
	if !opt.Bare {
		y = s.head(title, joined(in.Who, "within a session"), "", "") + 0.4*text
	}
	for _, p := range in.Steps {
		if !draw.Angles(p.FromDeg, p.ToDeg, p.ChangeDeg) {
			return nil, draw.Problem(draw.ReadAgain, "the step from %q to %q goes from %g to %g, which are not both angles", p.From, p.To, p.FromDeg, p.ToDeg)
		}
	}
	if in.AskedDeg != nil && !draw.Angles(*in.AskedDeg) {
		return nil, draw.Problem("check the rule book", "what is asked, %g degrees, is not an angle", *in.AskedDeg)
	}
	if len(in.Steps) == 0 {
		s.Text(label{wordNoReadings, margin, y + text, 0, text, draw.Sans, draw.Faint})
		s.end(y + 1.4*text)
		d.Alt = wordNoReadings
		return d, nil
	}
	c := steps{months: months{sheet: s, opt: opt, asked: in.AskedDeg, atMost: in.AtMost}, in: slices.Clone(in.Steps)}
	slices.SortStableFunc(c.in, func(a, b change.Step) int { return a.Day.Compare(b.Day) })
	y = c.draw(y)
	s.end(y - 0.2*text)
	for i, p := range c.in {
		if i > 0 {
			d.Alt += "; "
		}
		d.Alt += joined(c.size(p), c.when(p))
	}
	return d, nil
}

type steps struct {
	months
	in     []change.Step
	states []string
}

const stepWidth = 17.5 // width of the text beside the plot, in text sizes

// size returns a step in words: "up 4.2°".
func (c *steps) size(p change.Step) string {
	direction, size, iv := "up ", p.ChangeDeg, p.IntervalDeg
	if size < 0 {
		direction, size, iv = "down ", -size, [2]float64{-iv[1], -iv[0]}
	}
	return direction + c.opt.size(size, iv)
}

func (c *steps) when(p change.Step) string {
	words := p.From + " to " + p.To
	if !p.Day.IsZero() {
		words += ", " + p.Day.Format("2 Jan 2006")
	}
	return draw.Clean(words)
}

func (c *steps) draw(y float64) float64 {
	for _, state := range []string{"cold", "warm", "after"} {
		if slices.ContainsFunc(c.in, func(p change.Step) bool { return p.From == state || p.To == state }) {
			c.states = append(c.states, state)
		}
	}
	for _, p := range c.in {
		for _, v := range []string{p.From, p.To} {
			if !slices.Contains(c.states, v) {
				c.states = append(c.states, v)
			}
		}
	}
	c.words = c.W - margin - (stepWidth-0.4)*text
	c.plot = box{margin + 4.2*text, y, c.W - margin - stepWidth*text, y + max(18*text, 0.32*c.W)}
	c.k = draw.Scale{A: c.plot.Y1, B: c.plot.Y0}
	var e draw.Extent
	for _, p := range c.in {
		e.Hold(p.FromDeg, p.ToDeg)
		if draw.Known(p.IntervalDeg) {
			e.Interval([2]float64{p.FromDeg + p.IntervalDeg[0], p.FromDeg + p.IntervalDeg[1]})
		}
	}
	if c.asked != nil {
		e.Hold(*c.asked)
	}
	c.k.From, c.k.To = e.Ends(c.opt.RangeDeg)
	c.axis()
	for i, state := range c.states {
		x := c.x(i)
		c.Line(draw.Pen{Colour: draw.Rule, Width: 0.05 * text}, point{x, c.plot.Y0}, point{x, c.plot.Y1})
		name := c.L.Cut(draw.Italic, 1.15*text, first(draw.Clean(state), "state not said"), draw.Wide(c.plot)/float64(len(c.states))-0.5*text)
		c.Text(label{name, x, c.plot.Y1 + underTicks*text, 0.5, 1.15 * text, draw.Italic, draw.Asked})
	}
	c.ask()
	full := c.full()
	for _, p := range c.in[:full] {
		c.step(p, faintLook)
	}
	for _, p := range c.in[full:] {
		c.step(p, fullLook)
		c.remark(p)
	}
	c.remarks()
	y = c.plot.Y1 + (underTicks+0.6)*text
	if full > 0 {
		y = c.key(c.plot.X0, y, c.W-margin, []entry{{"earlier sessions", func(at point) {
			c.Line(draw.Pen{Colour: draw.Faint, Width: 0.05 * text}, point{at.X - 0.4*text, at.Y}, point{at.X + 0.4*text, at.Y})
			c.mark(at, 0.2*text, "warm", faintLook)
		}}})
	}
	return y
}

// full returns the index of the first step that is drawn in full: whole sessions, as many as
// there is room for text.
func (c *steps) full() int {
	room := int(draw.High(c.plot)/(3.95*text)) - 1
	from := len(c.in)
	for from > 0 {
		next := from - 1
		for next > 0 && c.in[next-1].Day.Equal(c.in[next].Day) {
			next--
		}
		if from < len(c.in) && len(c.in)-next > room {
			break
		}
		from = next
	}
	return max(from, len(c.in)-room)
}

func (c *steps) x(i int) float64 {
	return c.plot.X0 + draw.Wide(c.plot)*(float64(i)+0.5)/float64(len(c.states))
}

// step draws one step. A faint one is drawn without its interval.
func (c *steps) step(p change.Step, h look) {
	a := point{c.x(slices.Index(c.states, p.From)), c.k.At(c.k.Keep(p.FromDeg))}
	b := point{c.x(slices.Index(c.states, p.To)), c.k.At(c.k.Keep(p.ToDeg))}
	if h == faintLook {
		c.Line(draw.Pen{Colour: h.colour, Width: 0.05 * text}, a, b)
		c.mark(a, 0.2*text, p.From, h)
		c.mark(b, 0.2*text, p.To, h)
		return
	}
	if draw.Known(p.IntervalDeg) {
		lo, hi := c.k.At(c.k.Keep(p.FromDeg+p.IntervalDeg[0])), c.k.At(c.k.Keep(p.FromDeg+p.IntervalDeg[1]))
		c.Fill(draw.Thin(draw.Measured, 0.17), []point{a, {b.X, lo}, {b.X, hi}})
		c.Lines(draw.Pen{Colour: draw.Measured, Width: 0.08 * text}, [][]point{{{b.X, lo}, {b.X, hi}},
			{{b.X - 0.2*text, lo}, {b.X + 0.2*text, lo}}, {{b.X - 0.2*text, hi}, {b.X + 0.2*text, hi}}})
	} else {
		c.Line(draw.Pen{Colour: draw.Measured, Width: 0.09 * text, Dash: dotted}, point{b.X, c.plot.Y0}, point{b.X, c.plot.Y1})
	}
	c.Line(draw.Pen{Colour: draw.Measured, Width: 0.1 * text}, a, b)
	c.mark(a, 0.3*text, p.From, h)
	c.mark(b, 0.3*text, p.To, h)
}

// remark adds the text beside the plot for a step.
func (c *steps) remark(p change.Step) {
	verdict, colour := "not a real change: that takes ", draw.Faint
	if p.Real {
		verdict, colour = "a real change: over ", draw.Ink
	}
	value := c.sideText(c.size(p), draw.Ink)
	value.Face, value.Size = draw.Serif, 1.2*text
	c.side = append(c.side, remark{y: c.k.At(c.k.Keep(p.ToDeg)), lines: []label{
		value, c.sideText(c.when(p), draw.Ink), c.sideText(fmt.Sprint(verdict, c.opt.uncertain(p.SmallestDeg)), colour)}})
}
