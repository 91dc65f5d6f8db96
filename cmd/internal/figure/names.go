package figure

import (
	"image/color"
	"math"

	"ecart/cmd/internal/draw"
)

// tag is a label for a point of the picture.
type tag struct {
	Text   string
	At     point
	Keep   float64 // smallest distance from At
	Colour color.NRGBA
}

// placed is a tag with its position. Led says that it is far from its point, so that a line
// connects them.
type placed struct {
	tag
	Box box
	Led bool
}

// clutter lists what tags should not cover.
type clutter struct {
	bounds box
	lines  [][2]point
	spots  []box              // ellipses
	busy   func(p point) bool // inside the fan
}

// The costs of a bad position of a tag. Their order sets the priorities: inside the
// picture, not on another tag, not on a mark, not on a line, not in the fan, near its
// point.
const (
	costOutside = 400
	costOnTag   = 120
	costOnSpot  = 60
	costOnLine  = 14
	costInFan   = 5
	costFar     = 4
)

// placeNames finds a position for each tag, in order. t is the text size, and width
// measures a text.
func placeNames(tags []tag, c clutter, t float64, width func(string) float64) []placed {
	out := make([]placed, 0, len(tags))
	for _, g := range tags {
		w, h := width(g.Text)+0.3*t, 1.12*t
		best, least := placed{tag: g}, math.Inf(1)
		for _, far := range []float64{0, 0.5, 1.1, 2, 3.2, 4.6} {
			for k := range 16 {
				sin, cos := math.Sincos(2 * math.Pi * float64(k) / 16)
				d := g.Keep + far*t
				mid := point{g.At.X + d*cos + cos*w/2, g.At.Y + d*sin + sin*h/2}
				b := c.inside(box{mid.X - w/2, mid.Y - h/2, mid.X + w/2, mid.Y + h/2})
				// a position beside the point is preferred to one above or below
				cost := costFar*far + 0.6*math.Abs(sin) + c.cost(b, out, t)
				if cost < least {
					best.Box, best.Led, least = b, far > 1.5, cost
				}
			}
		}
		out = append(out, best)
	}
	return out
}

// inside moves b into the bounds if it lies a little outside and they are wide
// enough for it.
func (c clutter) inside(b box) box {
	dx := max(0, c.bounds.X0-b.X0) - max(0, b.X1-c.bounds.X1)
	dy := max(0, c.bounds.Y0-b.Y0) - max(0, b.Y1-c.bounds.Y1)
	if math.Abs(dx) > draw.High(b) || math.Abs(dy) > draw.High(b) {
		return b
	}
	return box{b.X0 + dx, b.Y0 + dy, b.X1 + dx, b.Y1 + dy}
}

func (c clutter) cost(b box, others []placed, t float64) float64 {
	cost := costOutside * (1 - overlap(b, c.bounds)/(draw.Wide(b)*draw.High(b)))
	for _, o := range others {
		if overlap(b, o.Box) > 0 {
			cost += costOnTag * (1 + overlap(b, o.Box)/(draw.Wide(b)*draw.High(b)))
		}
	}
	for _, s := range c.spots {
		if overlap(b, s) > 0 {
			cost += costOnSpot
		}
	}
	for _, l := range c.lines {
		cost += costOnLine * min(2, within(b, l)/t)
	}
	if c.busy != nil {
		for _, p := range []point{{b.X0, b.Y0}, {b.X1, b.Y0}, {b.X0, b.Y1}, {b.X1, b.Y1}, {(b.X0 + b.X1) / 2, (b.Y0 + b.Y1) / 2}} {
			if c.busy(p) {
				cost += costInFan / 5.0
			}
		}
	}
	return cost
}

// overlap returns the area that two boxes share.
func overlap(a, b box) float64 {
	w := min(a.X1, b.X1) - max(a.X0, b.X0)
	h := min(a.Y1, b.Y1) - max(a.Y0, b.Y0)
	if w <= 0 || h <= 0 {
		return 0
	}
	return w * h
}

// within returns the length of the part of a line that lies in b.
func within(b box, l [2]point) float64 {
	from, to := clip(b, l)
	return max(0, to-from) * draw.Norm(draw.Sub(l[1], l[0]))
}

// lastIn returns the last point of a line that lies in b, or the line's end if none does.
func lastIn(b box, l [2]point) point {
	from, to := clip(b, l)
	if from > to {
		return l[1]
	}
	d := draw.Sub(l[1], l[0])
	return point{l[0].X + to*d.X, l[0].Y + to*d.Y}
}

// clip returns the part of a line that lies in b, as fractions of its length; it is empty
// if from is above to.
func clip(b box, l [2]point) (from, to float64) {
	d := draw.Sub(l[1], l[0])
	from, to = 0, 1
	for _, s := range [4][2]float64{{-d.X, l[0].X - b.X0}, {d.X, b.X1 - l[0].X}, {-d.Y, l[0].Y - b.Y0}, {d.Y, b.Y1 - l[0].Y}} {
		switch p, q := s[0], s[1]; {
		case p == 0 && q < 0:
			return 1, 0
		case p < 0:
			from = max(from, q/p)
		case p > 0:
			to = min(to, q/p)
		}
	}
	return from, to
}
