package chart

import (
	"fmt"
	"slices"

	"ecart/cmd/internal/change"
)

// Steps draws before and after within sessions: the states side by side, what each
// session's angle did from one to the next as a line that opens into the interval of
// the difference.
func Steps(in StepsData, opt Options) (*Drawing, error) {
	s, opt, err := start(opt)
	if err != nil {
		return nil, err
	}
	title := measureTitle(in.Measure)
	d := &Drawing{Title: titled(title+", before and after", in.Who), sheet: s}
	y := margin + 0.4*text
	if !opt.Bare {
		y = s.head(title, joined(in.Who, "within the session"), "", "") + 0.4*text
	}
	for _, p := range in.Steps {
		if !angles(p.FromDeg, p.ToDeg) {
			return nil, problem(readAgain, "the step from %q to %q goes from %g to %g, which are not both angles", p.From, p.To, p.FromDeg, p.ToDeg)
		}
	}
	if in.AskedDeg != nil && !angles(*in.AskedDeg) {
		return nil, problem("check the rule book", "what is asked, %g degrees, is not an angle", *in.AskedDeg)
	}
	if len(in.Steps) == 0 {
		s.text(label{wordNoReadings, margin, y + text, 0, text, sans, faint})
		s.end(y + 1.4*text)
		d.Alt = wordNoReadings
		return d, nil
	}
	c := steps{months: months{sheet: s, opt: opt, asked: in.AskedDeg, atMost: in.AtMost}, in: in.Steps}
	y = c.draw(y)
	s.end(y - 0.2*text)
	for i, p := range in.Steps {
		if i > 0 {
			d.Alt += "; "
		}
		d.Alt += fmt.Sprintf("%s from %s to %s, %s", p.Day.Format("2 January 2006"), p.From, p.To, c.words(p))
	}
	return d, nil
}

type steps struct {
	months
	in     []change.Step
	states []string
}

// words is a step in words.
func (c *steps) words(p change.Step) string {
	way := "up "
	size := p.ChangeDeg
	if size < 0 {
		way, size = "down ", -size
	}
	return way + c.opt.size(size, p.IntervalDeg)
}

func (c *steps) draw(y float64) float64 {
	for _, known := range []string{"cold", "warm", "after"} {
		if slices.ContainsFunc(c.in, func(p change.Step) bool { return p.From == known || p.To == known }) {
			c.states = append(c.states, known)
		}
	}
	for _, p := range c.in {
		for _, v := range []string{p.From, p.To} {
			if !slices.Contains(c.states, v) {
				c.states = append(c.states, v)
			}
		}
	}
	c.plot = box{margin + 4.2*text, y, c.W - margin - (remarkWidth+5)*text, y + max(18*text, 0.32*c.W)}
	c.k = scale{A: c.plot.Y1, B: c.plot.Y0}
	var e extent
	for _, p := range c.in {
		e.hold(p.FromDeg, p.ToDeg)
		if known(p.IntervalDeg) {
			e.interval([2]float64{p.FromDeg + p.IntervalDeg[0], p.FromDeg + p.IntervalDeg[1]})
		}
	}
	if c.asked != nil {
		e.hold(*c.asked)
	}
	c.k.From, c.k.To = e.ends(c.opt)
	edge := c.plot.X0
	if bands := bandsOfAsked(c.asked, c.atMost); len(bands) > 0 {
		edge -= bandHigh * text
		c.strip(box{edge, c.plot.Y0, c.plot.X0, c.plot.Y1}, c.k, bands)
		c.stand(c.k, edge, *c.asked)
	} else {
		c.line(pen{colour: ink, width: 0.05 * text}, point{edge, c.plot.Y0}, point{edge, c.plot.Y1})
		c.stand(c.k, edge)
	}
	for i, state := range c.states {
		x := c.x(i)
		c.line(pen{colour: rule, width: 0.05 * text}, point{x, c.plot.Y0}, point{x, c.plot.Y1})
		name := c.l.cut(italic, 1.15*text, first(clean(state), "state not said"), c.plot.width()/float64(len(c.states)))
		c.text(label{name, x, c.plot.Y1 + underTicks*text, 0.5, 1.15 * text, italic, asked})
	}
	c.ask()
	for _, p := range c.in {
		c.step(p)
	}
	c.remarks(c.W - margin - (remarkWidth+4)*text)
	return c.plot.Y1 + (underTicks+0.6)*text
}

func (c *steps) x(i int) float64 {
	return c.plot.X0 + c.plot.width()*(float64(i)+0.5)/float64(len(c.states))
}

// step draws one step, and its words beside the plot.
func (c *steps) step(p change.Step) {
	from, to := slices.Index(c.states, p.From), slices.Index(c.states, p.To)
	a := point{c.x(from), c.k.at(c.k.keep(p.FromDeg))}
	b := point{c.x(to), c.k.at(c.k.keep(p.ToDeg))}
	if known(p.IntervalDeg) {
		lo, hi := c.k.at(c.k.keep(p.FromDeg+p.IntervalDeg[0])), c.k.at(c.k.keep(p.FromDeg+p.IntervalDeg[1]))
		c.fill(thin(measured, 0.17), []point{a, {b.X, lo}, {b.X, hi}})
		c.lines(pen{colour: measured, width: 0.08 * text}, [][]point{{{b.X, lo}, {b.X, hi}},
			{{b.X - 0.2*text, lo}, {b.X + 0.2*text, lo}}, {{b.X - 0.2*text, hi}, {b.X + 0.2*text, hi}}})
	} else {
		c.line(pen{colour: measured, width: 0.09 * text, dash: dotted}, point{b.X, c.plot.Y0}, point{b.X, c.plot.Y1})
	}
	c.line(pen{colour: measured, width: 0.1 * text}, a, b)
	c.mark(a, 0.3*text, p.From, fullHand)
	c.mark(b, 0.3*text, p.To, fullHand)
	verdict, colour := "not a real change", faint
	if p.Real {
		verdict, colour = "a real change", ink
	}
	value := c.say(c.words(p), ink)
	value.Face, value.Size = serif, 1.2*text
	day := p.From + " to " + p.To
	if !p.Day.IsZero() {
		day = p.Day.Format("2 Jan 2006") + ", " + day
	}
	c.side = append(c.side, remark{y: b.Y, lines: []label{
		value, c.say(day, ink), c.say(verdict+"; smallest "+c.opt.uncertain(p.SmallestDeg), colour)}})
}
