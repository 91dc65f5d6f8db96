package chart

import (
	"fmt"
	"math"
	"slices"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/movement"
)

// Screen draws one ruler with a reading of each condition and the gaps between them,
// each named and with its interval.
func Screen(in ScreenData, opt Options) (*Drawing, error) {
	s, opt, err := start(opt)
	if err != nil {
		return nil, err
	}
	n := in.Screen
	if n == nil {
		return nil, draw.Problem("make one of readings in two conditions or more", "there is no screen to draw")
	}
	if !draw.Angles(n.AskedDeg) {
		return nil, draw.Problem("say what is asked", "what is asked, %g degrees, is not an angle", n.AskedDeg)
	}
	for _, l := range n.Levels {
		if !draw.Angles(l.AngleDeg) {
			return nil, draw.Problem(draw.ReadAgain, "the angle of the level %q is given as %g", l.Condition, l.AngleDeg)
		}
	}
	y := margin + 0.4*text
	title := draw.MeasureTitle(n.Measure)
	if words := movement.VariantWords(n.Measure, n.Variant); words != "" {
		title += ", " + words
	}
	if !opt.Bare {
		who := in.Who
		if !n.Day.IsZero() {
			who = joined(in.Who, n.Day.Format("2 January 2006"))
		}
		y = s.head(title, who, "", "") + 0.4*text
	}
	d := &Drawing{Title: titled(title+", passive, active and in the skill", in.Who), Alt: draw.Clean(n.Sentence), sheet: s}
	if len(n.Levels) == 0 {
		s.Text(label{wordNoReadings, margin, y + text, 0, text, draw.Sans, draw.Faint})
		s.end(y + 1.4*text)
		d.Alt = wordNoReadings
		return d, nil
	}
	c := lanes{sheet: s, opt: opt, n: n, first: margin + 9.5*text}
	y = c.draw(y)
	if !opt.Bare {
		y = s.foot(y, n.Sentence, draw.Ink, 5)
	}
	s.end(y - 0.2*text)
	if d.Alt == "" {
		for i, l := range n.Levels {
			v, u := opt.value(l.AngleDeg, l.IntervalDeg)
			if i > 0 {
				d.Alt += ", "
			}
			d.Alt += fmt.Sprintf("%s %s %s", draw.Spaced(l.Condition), v, u)
		}
	}
	return d, nil
}

// joined joins the parts that are not empty, separated by dots.
func joined(parts ...string) string {
	out := ""
	for _, p := range parts {
		if p = draw.Clean(p); p == "" {
			continue
		}
		if out != "" {
			out += " · "
		}
		out += p
	}
	return out
}

// lanes is the layout of a screen: one lane for each level, above one ruler.
type lanes struct {
	*sheet
	opt   Options
	n     *change.Screen
	first float64 // x at which the ruler begins, to the right of the names
	noAsk bool    // there is no asked angle
	k     draw.Scale
	words []box // bounding boxes of the gaps' labels, from top to bottom
}

const laneHigh = 4.0 // text sizes

func (c *lanes) draw(y float64) float64 {
	n := c.n
	c.k = draw.Scale{A: c.first, B: c.W - margin}
	var e draw.Extent
	if !c.noAsk {
		e.Hold(n.AskedDeg)
	}
	for _, l := range n.Levels {
		e.Hold(l.AngleDeg)
		e.Interval(l.IntervalDeg)
	}
	c.k.From, c.k.To = e.Ends(c.opt.RangeDeg)
	top := y + 1.55*text
	bottom := top + (float64(len(n.Levels))*laneHigh+0.5)*text
	lane := func(i int) float64 { return top + (float64(i)+0.78)*laneHigh*text }

	strip := box{c.k.A, bottom, c.k.B, bottom + bandHigh*text}
	ask := n.AskedDeg
	if c.noAsk {
		c.Strip(strip, c.k, nil)
		c.Hang(c.k, strip.Y1)
		c.Figures(c.k, strip.Y1+underTicks*text)
	} else {
		c.Strip(strip, c.k, draw.BandsOfAsked(&ask, n.AtMost))
		c.Hang(c.k, strip.Y1)
		c.Figures(c.k, strip.Y1+underTicks*text, ask)
	}
	if x := c.k.At(ask); !c.noAsk && c.k.In(ask) {
		c.Line(draw.Pen{Colour: draw.Asked, Width: 0.09 * text, Dash: dashed}, point{x, top}, point{x, bottom})
		c.Notch(x, bottom-0.3*text, strip.Y1+tickLong*text)
		word := draw.AskedWords(ask, n.AtMost)
		half := c.L.Width(draw.Sans, text, word) / 2
		c.Text(label{word, min(max(x, c.k.A+half), c.k.B-half), y + 0.8*text, 0.5, text, draw.Sans, draw.Asked})
	}
	for i, l := range n.Levels {
		c.level(l, lane(i))
	}
	for _, g := range n.Gaps {
		c.gap(g, lane)
	}
	for i, l := range n.Levels {
		c.drop(l, lane(i)+0.55*text, bottom)
	}
	return strip.Y1 + (underTicks+0.5)*text
}

// drop draws the dotted line from a level's value down to the ruler, with breaks at labels.
func (c *lanes) drop(l change.Level, y, bottom float64) {
	x := c.k.At(l.AngleDeg)
	if !c.k.In(l.AngleDeg) {
		return
	}
	var pieces [][]point
	piece := func(to float64) {
		if to > y {
			pieces = append(pieces, []point{{x, y}, {x, to}})
		}
	}
	for _, w := range c.words { // from top to bottom
		if w.X0-beside < x && x < w.X1+beside && w.Y1 > y {
			piece(w.Y0)
			y = w.Y1
		}
	}
	piece(bottom)
	c.Lines(draw.Pen{Colour: draw.Measured, Width: 0.05 * text, Dash: dotted}, pieces)
}

// level draws a level on its lane at y.
func (c *lanes) level(l change.Level, y float64) {
	base := y + 0.3*text
	v, u := c.opt.value(l.AngleDeg, l.IntervalDeg)
	name := c.L.Cut(draw.Italic, 1.15*text, draw.Spaced(l.Condition), c.first-margin-0.8*text)
	c.Text(label{name, margin, base - 0.95*text, 0, 1.15 * text, draw.Italic, draw.Asked})
	w := c.Text(label{v, margin, base + 0.35*text, 0, 1.3 * text, draw.Serif, draw.Ink})
	u = c.L.Cut(draw.Serif, text, u, c.first-margin-w-0.9*text)
	c.Text(label{u, margin + w + 0.3*text, base + 0.35*text, 0, text, draw.Serif, draw.Faint})
	c.Line(draw.Pen{Colour: draw.Rule, Width: 0.03 * text}, point{c.k.A, y}, point{c.k.B, y})
	c.Bar(c.k, y, l.IntervalDeg, draw.Measured, 0.14*text)
	if c.k.In(l.AngleDeg) {
		x := c.k.At(l.AngleDeg)
		c.Line(draw.Pen{Colour: draw.Measured, Width: 0.14 * text}, point{x, y - 0.55*text}, point{x, y + 0.55*text})
	}
}

// gap draws the bracket of a gap above the lane of its level, with its size above the
// bracket and the probability of being the largest below. Labels without room beside the
// line of the asked angle are left out.
func (c *lanes) gap(g change.Gap, lane func(int) float64) {
	to := c.index(g.To)
	from := c.index(g.From)
	if to < 0 || !draw.Angles(g.Deg) {
		return
	}
	fromDeg := c.n.AskedDeg
	if from >= 0 {
		fromDeg = c.n.Levels[from].AngleDeg
	}
	toDeg := c.n.Levels[to].AngleDeg
	if c.n.AtMost && from < 0 && toDeg < 0 {
		fromDeg = -fromDeg
	}
	below := max(from, to) // the lower of the two lanes
	y := lane(below) - 0.5*laneHigh*text
	x0, x1 := c.k.At(c.k.Keep(fromDeg)), c.k.At(c.k.Keep(toDeg))
	width := 0.07 * text
	colour := draw.Ink
	largest := c.n.Largest != "" && c.n.Largest == g.Name
	if largest {
		width = 0.16 * text
	}
	foot := 0.35 * text
	c.Line(draw.Pen{Colour: colour, Width: width}, point{x0, y + foot}, point{x0, y}, point{x1, y}, point{x1, y + foot})
	middle := (x0 + x1) / 2
	size := []label{
		{Text: g.Name, Size: 1.15 * text, Face: draw.Italic, Colour: draw.Ink},
		{Text: c.opt.size(g.Deg, g.IntervalDeg), Size: 1.2 * text, Face: draw.Serif, Colour: draw.Ink},
		{Text: "(" + c.opt.between(g.IntervalDeg) + ")", Size: text, Face: draw.Sans, Colour: draw.Faint},
	}
	for n := len(size); n > 0 && !c.row(size[:n], below, middle, y-0.46*text); n-- {
	}
	if p := g.LargestProbability; p != nil {
		w := label{Text: "largest in " + draw.Of100(*p), Size: text, Face: draw.Sans, Colour: draw.Faint}
		if largest {
			w.Colour = draw.Ink
		}
		c.row([]label{w}, below, middle, y+1.14*text)
	}
}

// beside is the room between a label and a line, in points.
const beside = 0.3 * text

// row writes labels in one line at y, as near to the middle as vertical lines allow. If there
// is no room between all lines, it writes across the dotted lines of levels, which drop then
// breaks. It reports whether there was room.
func (c *lanes) row(words []label, to int, middle, y float64) bool {
	const space = 0.4 * text
	wide := -space
	for _, w := range words {
		wide += c.L.Width(w.Face, w.Size, w.Text) + space
	}
	var asked, levels []float64
	if !c.noAsk && c.k.In(c.n.AskedDeg) {
		asked = []float64{c.k.At(c.n.AskedDeg)}
	}
	for _, l := range c.n.Levels[:to] {
		if c.k.In(l.AngleDeg) {
			levels = append(levels, c.k.At(l.AngleDeg))
		}
	}
	x, ok := c.room(wide, middle, append(levels, asked...))
	if !ok {
		x, ok = c.room(wide, middle, asked)
	}
	if !ok {
		return false
	}
	for _, w := range words {
		w.X, w.Y = x, y
		c.words = append(c.words, c.LabelBox(w))
		x += c.Text(w) + space
	}
	return true
}

// room returns the left end of a space of the given width, nearest to the middle, within the
// ruler and clear of the lines.
func (c *lanes) room(wide, middle float64, lines []float64) (x float64, ok bool) {
	slices.Sort(lines)
	from := c.k.A
	for _, line := range append(lines, c.k.B+beside) {
		if to := line - beside; to-from >= wide {
			if at := min(max(middle-wide/2, from), to-wide); !ok || math.Abs(at-middle+wide/2) < math.Abs(x-middle+wide/2) {
				x, ok = at, true
			}
		}
		from = line + beside
	}
	return x, ok
}

func (c *lanes) index(condition string) int {
	for i, l := range c.n.Levels {
		if l.Condition == condition {
			return i
		}
	}
	return -1
}

// ContrastData is a contrast of an athlete.
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
