package chart

import (
	"image/color"
	"math"
	"strconv"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/draw"
)

// months is the drawing of a change over time.
type months struct {
	*sheet
	opt      Options
	trends   []*change.Trend
	dots     []dot
	statures []Stature
	asked    *float64
	atMost   bool

	plot  box
	words float64 // x at which the text beside the plot begins
	k     draw.Scale
	cal   calendar
	side  []remark
}

// remark is a text beside the plot; y is the height of what it describes.
type remark struct {
	y     float64
	lines []label          // their X and Y are set when they are placed
	icons []func(at point) // before each line; nil: none
}

// rise is the change of a trend from its first day, with the smallest change that is real.
type rise struct {
	t        *change.Trend
	from, to float64
	smallest float64 // NaN: not known
}

const remarkWidth = 11.0 // text sizes

// draw draws everything below y and returns the y of the lower end.
func (c *months) draw(y float64) float64 {
	rises := c.rises()
	right := 1.0 * text
	if len(rises) > 0 || c.asked != nil {
		right = (remarkWidth + 0.9 + 2.0*float64(len(rises))) * text
	}
	c.words = c.W - margin - (remarkWidth-0.4)*text
	c.plot = box{margin + 4.2*text, y, c.W - margin - right, y + max(18*text, 0.36*c.W)}
	c.k = draw.Scale{A: c.plot.Y1, B: c.plot.Y0}
	c.k.From, c.k.To = c.span(rises)
	first, last := c.dots[0].day, c.dots[len(c.dots)-1].day
	c.cal = newCalendar(first, c.horizon(first, last), c.plot.X0, c.plot.X1)
	c.axis()
	c.along(c.cal, c.plot.Y1)
	c.ask()
	if c.crowded() {
		c.readings()
	}
	for _, t := range c.trends {
		c.trend(t)
	}
	if !c.crowded() {
		c.readings()
	}
	for i, r := range rises {
		c.rise(r, c.plot.X1+(0.9+2.0*float64(i))*text)
	}
	c.remarks()
	y = c.heights(c.plot.Y1 + (underTicks+0.4)*text)
	return c.key(c.plot.X0, y, c.W-margin, c.entries())
}

// heights writes the athlete's height below y, under each day on which it changed, where
// there is room. It returns the y of the lower end.
func (c *months) heights(y float64) float64 {
	end, last := math.Inf(-1), 0.0
	for _, s := range c.statures {
		at := c.cal.x(dayOf(s.Day))
		if s.Cm == last || !draw.Finite(s.Cm) || at < c.plot.X0 || at > c.plot.X1 {
			continue
		}
		words := strconv.FormatFloat(s.Cm, 'f', -1, 64) + " cm"
		half := c.L.Width(draw.Sans, smallText, words) / 2
		at = min(max(at, c.plot.X0+half), c.plot.X1-half)
		if at-half < end+0.6*text {
			continue
		}
		last, end = s.Cm, at+half
		c.Text(label{words, at, y + 0.9*text, 0.5, smallText, draw.Sans, draw.Faint})
	}
	if last == 0 {
		return y
	}
	return y + 1.1*text
}

// axis draws the vertical ruler, hatched where the angle does not meet the requirement.
func (c *months) axis() {
	for _, d := range draw.Rounds(c.k, 2.2*text) {
		c.Line(draw.Pen{Colour: draw.Rule, Width: 0.03 * text}, point{c.plot.X0, c.k.At(d)}, point{c.plot.X1, c.k.At(d)})
	}
	edge := c.plot.X0
	if bands := draw.BandsOfAsked(c.asked, c.atMost); len(bands) > 0 {
		edge -= bandHigh * text
		c.Strip(box{edge, c.plot.Y0, c.plot.X0, c.plot.Y1}, c.k, bands)
		c.stand(c.k, edge, *c.asked)
	} else {
		c.Line(draw.Pen{Colour: draw.Ink, Width: 0.05 * text}, point{edge, c.plot.Y0}, point{edge, c.plot.Y1})
		c.stand(c.k, edge)
	}
}

// rises returns the trends that have a change.
func (c *months) rises() []rise {
	var out []rise
	for _, t := range c.trends {
		if len(t.Days) < 2 || !draw.Angles(t.ChangeDeg) {
			continue
		}
		r := rise{t: t, from: t.Days[0].AngleDeg, smallest: math.NaN()}
		if drawn(t.Line) {
			r.from, _, _ = t.Line.At(t.Days[0].Day)
		}
		r.to = r.from + t.ChangeDeg
		if t.SmallestDeg > 0 && draw.Angles(t.SmallestDeg) {
			r.smallest = t.SmallestDeg
		}
		out = append(out, r)
	}
	return out
}

// drawn reports whether a line has its dates; one that was read back from a file does
// not.
func drawn(l *change.Line) bool { return l != nil && l.To.After(l.From) }

// direction is +1 for a rise and -1 for a fall.
func (r rise) direction() float64 {
	if r.to < r.from {
		return -1
	}
	return 1
}

func (c *months) span(rises []rise) (from, to float64) {
	var e draw.Extent
	for _, d := range c.dots {
		e.Hold(d.angle)
		e.Interval(d.interval)
	}
	for _, r := range rises {
		e.Hold(r.from, r.to)
		if draw.Finite(r.smallest) {
			e.Hold(r.from + r.direction()*r.smallest)
		}
	}
	if c.asked != nil {
		e.Hold(*c.asked)
	}
	return e.Ends(c.opt.RangeDeg)
}

// horizon returns the last day drawn: that of the last reading, or the day on which the
// asked angle will be reached, if that is soon.
func (c *months) horizon(first, last time.Time) time.Time {
	const most = 0.7 // of the time span of the readings
	end := last
	limit := last.Add(time.Duration(most * float64(last.Sub(first))))
	for _, t := range c.trends {
		if r := t.Reach; r != nil && r.At != nil && drawn(t.Line) {
			to := *r.At
			if r.To != nil {
				to = *r.To
			}
			if to.After(limit) {
				to = limit
			}
			if r.At.Before(limit) && to.After(end) {
				end = to
			}
		}
	}
	return end
}

// trend draws the line with its band, and its extension to the asked angle with the interval
// of the date.
func (c *months) trend(t *change.Trend) {
	if !drawn(t.Line) {
		return
	}
	h := fullLook
	if len(c.trends) == 2 {
		h = lookOf(t.Side)
	}
	from, to := t.Line.From, t.Line.To
	const n = 48
	var low, high []point
	for i := range n + 1 {
		day := from.Add(time.Duration(float64(to.Sub(from)) * float64(i) / n))
		_, lo, hi := t.Line.At(day)
		x := c.cal.x(day)
		low = append(low, point{x, c.k.At(c.k.Keep(lo))})
		high = append(high, point{x, c.k.At(c.k.Keep(hi))})
	}
	if h.open {
		c.Lines(draw.Pen{Colour: draw.Thin(h.colour, 0.55), Width: 0.05 * text}, [][]point{low, high})
	} else {
		band := append([]point{}, high...)
		for i := len(low) - 1; i >= 0; i-- {
			band = append(band, low[i])
		}
		c.Fill(draw.Thin(h.colour, 0.17), band)
	}
	line := draw.Pen{Colour: h.colour, Width: 0.1 * text}
	if c.crowded() && !h.open && len(c.trends) == 1 {
		line = draw.Pen{Colour: draw.Ink, Width: 0.12 * text}
	}
	c.stretch(t.Line, from, to, line)
	r := t.Reach
	if r == nil || r.Status != change.Coming || r.At == nil || c.asked == nil {
		return
	}
	end := c.cal.origin.Add(time.Duration(c.cal.To * dayHours * float64(time.Hour)))
	if r.At.Before(end) {
		c.stretch(t.Line, to, *r.At, draw.Pen{Colour: h.colour, Width: 0.07 * text, Dash: dotted})
		iv := [2]float64{c.cal.day(*r.From), math.Inf(1)}
		if r.To != nil {
			iv[1] = c.cal.day(*r.To)
		}
		iv[1] = min(iv[1], c.cal.To+1) // beyond: an arrow
		y := c.k.At(c.level(*r.At, t.Line))
		c.Bar(c.cal.Scale, y, iv, h.colour, 0.14*text)
	}
}

// level returns the asked angle, with the sign of the line on that day.
func (c *months) level(day time.Time, l *change.Line) float64 {
	at, _, _ := l.At(day)
	if c.atMost && at < 0 {
		return -*c.asked
	}
	return *c.asked
}

func (c *months) stretch(l *change.Line, from, to time.Time, p draw.Pen) {
	a, _, _ := l.At(from)
	b, _, _ := l.At(to)
	pts := clip(point{c.cal.x(from), c.k.At(a)}, point{c.cal.x(to), c.k.At(b)}, c.plot)
	if pts != nil {
		c.Line(p, pts...)
	}
}

// clip returns the part of the line from a to b that is within the box, or nil.
func clip(a, b point, in box) []point {
	t0, t1 := 0.0, 1.0
	for _, e := range [4][2]float64{
		{a.X - b.X, a.X - in.X0}, {b.X - a.X, in.X1 - a.X},
		{a.Y - b.Y, a.Y - in.Y0}, {b.Y - a.Y, in.Y1 - a.Y},
	} {
		switch {
		case e[0] == 0 && e[1] < 0:
			return nil
		case e[0] < 0:
			t0 = max(t0, e[1]/e[0])
		case e[0] > 0:
			t1 = min(t1, e[1]/e[0])
		}
	}
	if t0 > t1 {
		return nil
	}
	at := func(t float64) point { return point{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)} }
	return []point{at(t0), at(t1)}
}

// ask draws the asked angle as a dashed line, and its negative as well if it is a maximum.
func (c *months) ask() {
	if c.asked == nil {
		return
	}
	levels := []float64{*c.asked}
	if c.atMost && *c.asked > 0 && c.k.In(-*c.asked) {
		levels = append(levels, -*c.asked)
	}
	for i, v := range levels {
		if !c.k.In(v) {
			continue
		}
		y, right := c.k.At(v), c.plot.X1
		if i == 0 {
			right = c.words - 0.4*text
			c.side = append(c.side, remark{y: y, lines: []label{c.sideText(draw.AskedWords(*c.asked, c.atMost), draw.Asked)}})
		}
		c.Line(draw.Pen{Colour: draw.Asked, Width: 0.09 * text, Dash: dashed}, point{c.plot.X0, y}, point{right, y})
	}
}

// sideText returns a label for the text beside the plot, cut to the room there.
func (c *months) sideText(words string, colour color.NRGBA) label {
	return label{Text: c.L.Cut(draw.Sans, text, words, c.W-margin-c.words-0.9*text), Size: text, Face: draw.Sans, Colour: colour}
}
