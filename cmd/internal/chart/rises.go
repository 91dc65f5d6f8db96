package chart

import (
	"image/color"
	"math"

	"ecart/cmd/internal/draw"
)

// readings draws the readings with their intervals; those of one day are drawn side by
// side.
func (c *months) readings() {
	r := 0.3 * text
	switch {
	case c.crowded():
		r = 0.14 * text
	case len(c.dots) > 60:
		r = 0.2 * text
	}
	for pass := range 2 { // readings that were left out are drawn first
		for _, d := range c.dots {
			if d.leftOut != (pass == 0) {
				continue
			}
			x := c.cal.x(d.day)
			if !c.crowded() {
				x += (float64(d.nth) - float64(d.of-1)/2) * 0.6 * text
			}
			x = min(max(x, c.plot.X0+r), c.plot.X1-r)
			if c.k.In(d.angle) {
				c.whisker(x, d)
				if c.crowded() {
					d.look.colour = draw.Thin(d.look.colour, 0.6)
				}
				c.mark(point{x, c.k.At(d.angle)}, r, d.state, d.look)
			}
		}
	}
}

// crowded reports whether there are so many readings that they are drawn faintly, with
// the trend over them.
func (c *months) crowded() bool { return len(c.dots) > 120 }

// whisker draws the interval of one reading, or a dotted line over the height of the plot
// if it is unknown.
func (c *months) whisker(x float64, d dot) {
	thick := 0.09 * text
	if len(c.dots) > 60 {
		thick = 0.05 * text
	}
	if !draw.Known(d.interval) {
		c.Line(draw.Pen{Colour: d.look.colour, Width: thick, Dash: dotted}, point{x, c.plot.Y0}, point{x, c.plot.Y1})
		return
	}
	lo, hi := c.k.At(c.k.Keep(d.interval[0])), c.k.At(c.k.Keep(d.interval[1]))
	if c.crowded() {
		c.Line(draw.Pen{Colour: draw.Thin(d.look.colour, 0.25), Width: thick}, point{x, lo}, point{x, hi})
		return
	}
	ls := [][]point{{{x, lo}, {x, hi}}}
	foot := 0.2 * text
	for i, y := range []float64{lo, hi} {
		out, beyond := foot, d.interval[0] < c.k.From
		if i == 1 {
			out, beyond = -foot, d.interval[1] > c.k.To
		}
		if beyond {
			ls = append(ls, []point{{x - foot, y - 1.5*out}, {x, y}, {x + foot, y - 1.5*out}})
		} else {
			ls = append(ls, []point{{x - foot, y}, {x + foot, y}})
		}
	}
	c.Lines(draw.Pen{Colour: d.look.colour, Width: thick}, ls)
}

// rise draws, at x, the smallest real change as a bracket from the start of the trend,
// and beside it the change as an arrow.
func (c *months) rise(r rise, x float64) {
	h := fullLook
	if len(c.trends) == 2 {
		h = lookOf(r.t.Side)
	}
	y0, y1 := c.k.At(c.k.Keep(r.from)), c.k.At(c.k.Keep(r.to))
	c.Line(draw.Pen{Colour: draw.Faint, Width: 0.05 * text, Dash: dotted}, point{c.plot.X0, y0}, point{x + 0.9*text, y0})
	name := ""
	if side := draw.Clean(r.t.Side); len(c.trends) == 2 && side != "" {
		name = side + ": "
	}
	if draw.Finite(r.smallest) {
		y := c.k.At(c.k.Keep(r.from + r.direction()*r.smallest))
		c.Lines(draw.Pen{Colour: draw.Ink, Width: 0.07 * text}, [][]point{{{x - 0.3*text, y0}, {x, y0}, {x, y}, {x - 0.3*text, y}}})
	}
	p := draw.Pen{Colour: h.colour, Width: 0.14 * text}
	ax := x + 0.9*text
	if length := math.Abs(y1 - y0); length > 0.1*text {
		direction := (y1 - y0) / length
		tip := min(0.55*text, length)
		c.Line(p, point{ax, y0}, point{ax, y1 - 0.8*tip*direction})
		c.Fill(h.colour, []point{{ax - 0.28*text, y1 - tip*direction}, {ax + 0.28*text, y1 - tip*direction}, {ax, y1}})
	}
	iv := [2]float64{r.t.ChangeDeg - r.smallest, r.t.ChangeDeg + r.smallest}
	words := "up "
	if r.direction() < 0 {
		words = "down "
	}
	words = name + words + c.opt.size(math.Abs(r.t.ChangeDeg), iv)
	verdict, colour := "not a real change", draw.Faint
	if r.t.Real {
		verdict, colour = "a real change", draw.Ink
	}
	smallest := "smallest real " + c.opt.uncertain(r.smallest)
	value := c.sideText(words, draw.Ink)
	value.Face, value.Size = draw.Serif, 1.2*text
	value.Text = c.L.Cut(draw.Serif, value.Size, words, c.W-margin-c.words-0.9*text)
	lines := []label{value, c.sideText(verdict, colour), c.sideText(smallest, draw.Faint)}
	arrow := func(at point) {
		x := at.X + 0.35*text
		y, up := at.Y-0.33*text, -r.direction()*text
		c.Line(draw.Pen{Colour: h.colour, Width: 0.1 * text}, point{x, y - 0.33*up}, point{x, y + 0.1*up})
		c.Fill(h.colour, polygon(point{x, y + 0.17*up}, 0.27*text, 3, -r.direction()*math.Pi/2))
	}
	bracket := func(at point) {
		c.Line(draw.Pen{Colour: draw.Ink, Width: 0.07 * text}, point{at.X + 0.15*text, at.Y}, point{at.X + 0.4*text, at.Y},
			point{at.X + 0.4*text, at.Y - 0.66*text}, point{at.X + 0.15*text, at.Y - 0.66*text})
	}
	c.side = append(c.side, remark{y: (y0 + y1) / 2, lines: lines, icons: []func(point){arrow, nil, bracket}})
}

// remarks writes the texts beside the plot, each as near to its own height as the others
// allow, with a thin line to that height if it was moved.
func (c *months) remarks() {
	x := c.words
	var wanted, heights []float64
	for _, r := range c.side {
		high := 0.35 * text
		for _, l := range r.lines {
			high += lineStep * l.Size
		}
		wanted, heights = append(wanted, r.y), append(heights, high)
	}
	for i, mid := range slots(wanted, heights, c.plot.Y0-text, c.plot.Y1+text) {
		r := c.side[i]
		y := mid - heights[i]/2 + 0.175*text
		for j, l := range r.lines {
			y += lineStep * l.Size
			l.X, l.Y = x, y-0.3*l.Size
			if r.icons != nil {
				l.X += 0.9 * text
				if icon := r.icons[j]; icon != nil {
					icon(point{x, l.Y})
				}
			}
			c.Text(l)
		}
		if math.Abs(mid-r.y) > 0.9*text && len(r.lines) == 1 {
			c.Line(draw.Pen{Colour: draw.Rule, Width: 0.05 * text}, point{c.plot.X1, r.y}, point{x - 0.2*text, mid})
		}
	}
}

// entries returns the key: the states and sides that occur, by shape and word.
func (c *months) entries() []entry {
	var out []entry
	r := 0.3 * text
	seen := map[string]bool{}
	var states, sides []string
	left, unknown := false, false
	for _, d := range c.dots {
		if !seen["state "+d.state] {
			seen["state "+d.state] = true
			states = append(states, d.state)
		}
		if !seen["side "+d.side] && d.side != "" {
			seen["side "+d.side] = true
			sides = append(sides, d.side)
		}
		left = left || d.leftOut
		unknown = unknown || !draw.Known(d.interval)
	}
	tint := color.NRGBA(draw.Ink)
	for _, state := range []string{"cold", "warm", "after"} {
		if seen["state "+state] {
			out = append(out, entry{state, func(at point) { c.mark(at, r, state, look{tint, false}) }})
		}
	}
	for _, state := range states {
		if _, ok := shapes[state]; ok {
			continue
		}
		words := first(draw.Clean(state), "state not said")
		if state == "" && len(states) == 1 {
			continue
		}
		out = append(out, entry{words, func(at point) { c.mark(at, r, "?", look{tint, false}) }})
	}
	if len(sides) == 2 {
		for _, side := range []string{"left", "right"} {
			out = append(out, entry{side, func(at point) {
				c.Line(draw.Pen{Colour: lookOf(side).colour, Width: 0.1 * text}, point{at.X - 0.7*text + 0.3*text, at.Y}, point{at.X + 0.4*text, at.Y})
				c.mark(at, 0.8*r, "warm", lookOf(side))
			}})
		}
	}
	if left {
		out = append(out, entry{wordLeftOut, func(at point) { c.mark(at, r, "warm", faintLook) }})
	}
	if unknown {
		out = append(out, entry{"dotted: uncertainty unknown", func(at point) {
			c.Line(draw.Pen{Colour: draw.Ink, Width: 0.09 * text, Dash: dotted}, point{at.X, at.Y - 0.5*text}, point{at.X, at.Y + 0.5*text})
		}})
	}
	return out
}
