package chart

import (
	"math"
	"slices"

	"ecart/cmd/internal/hand"
)

// text is the size of text, in points.
const text = 9.0

// margin is what is left free around a drawing.
const margin = 0.9 * text

// extent gathers what a scale has to show.
type extent struct {
	from, to float64
	any      bool
	loose    [][2]float64 // shown as far as they do not dwarf the rest
}

// hold makes the scale show v.
func (e *extent) hold(vs ...float64) {
	for _, v := range vs {
		switch {
		case !hand.Angles(v):
		case !e.any:
			e.from, e.to, e.any = v, v, true
		default:
			e.from, e.to = min(e.from, v), max(e.to, v)
		}
	}
}

// interval makes the scale show an interval unless that is very wide.
func (e *extent) interval(iv [2]float64) {
	if known(iv) {
		e.loose = append(e.loose, iv)
	}
}

// The least that a scale shows, and by how much an interval may widen it: so much
// that one bad picture does not press the others together.
const (
	leastShown  = 12.0 // degrees
	looseAtMost = 30.0 // degrees on each side, or as much as there is without it
)

// ends returns the two ends of the scale with some room beyond what is shown.
func (e *extent) ends(opt Options) (from, to float64) {
	if opt.RangeDeg[0] < opt.RangeDeg[1] {
		return opt.RangeDeg[0], opt.RangeDeg[1]
	}
	from, to = e.from, e.to
	more := max(looseAtMost, to-from)
	for _, iv := range e.loose {
		if !e.any {
			break
		}
		from = min(from, max(iv[0], e.from-more))
		to = max(to, min(iv[1], e.to+more))
	}
	if mid := (from + to) / 2; to-from < leastShown {
		from, to = mid-leastShown/2, mid+leastShown/2
	}
	room := 0.07 * (to - from)
	return from - room, to + room
}

// known reports whether an interval is one: not where an end is missing, nor where
// it has no width, which no measurement has.
func known(iv [2]float64) bool { return hand.Angles(iv[0], iv[1]) && iv[1] > iv[0] }

// graduation is a stroke of a ruler; the long ones stand at round figures.
type graduation struct{ At, Long float64 }

// Lengths of strokes, in text sizes.
const (
	tickShort  = 0.15
	tickMiddle = 0.24
	tickLong   = 0.34
)

// graduations returns the strokes of k: one, five and ten of the unit, those that
// stand apart; an own unit is a power of ten.
func graduations(k hand.Scale) []graduation {
	unit := 1.0
	for unit*k.PerUnit()*100 < 0.13*text {
		unit *= 10
	}
	for unit*k.PerUnit() > 6*text {
		unit /= 10
	}
	var out []graduation
	for _, s := range []struct{ step, long float64 }{{unit, tickShort}, {5 * unit, tickMiddle}, {10 * unit, tickLong}} {
		if s.step*k.PerUnit() < 0.13*text {
			continue
		}
		for i := math.Ceil(k.From / s.step); i*s.step <= k.To; i++ {
			out = append(out, graduation{i * s.step, s.long * text})
		}
	}
	return out
}

// rounds returns round figures that stand at least gap points apart.
func rounds(k hand.Scale, gap float64) []float64 {
	step := 0.01
	for _, s := range []float64{0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 45, 90, 180, 360} {
		if step = s; s*k.PerUnit() >= gap {
			break
		}
	}
	var out []float64
	for i := math.Ceil(k.From/step - 1e-9); i*step <= k.To+1e-9*step; i++ {
		out = append(out, math.Round(i*step*100)/100+0)
	}
	return out
}

// slots places things of the given heights, wanted at the given middles, without
// overlap between lo and hi, in the order of their middles, each as near to where it
// is wanted as the others allow. It returns the middles.
func slots(wanted, heights []float64, lo, hi float64) []float64 {
	n := len(wanted)
	order := make([]int, n)
	total := 0.0
	for i := range order {
		order[i] = i
		total += heights[i]
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case wanted[a] < wanted[b]:
			return -1
		case wanted[a] > wanted[b]:
			return 1
		}
		return 0
	})
	out := make([]float64, n)
	// Clusters of neighbours that touch sit about their common middle.
	type cluster struct {
		first, last int
		top, high   float64
	}
	var cs []cluster
	place := func(c *cluster) {
		sum, below := 0.0, 0.0
		for _, i := range order[c.first : c.last+1] {
			sum += wanted[i] - heights[i]/2 - below
			below += heights[i]
		}
		c.high = below
		c.top = sum / float64(c.last-c.first+1)
		c.top = max(min(c.top, hi-c.high), lo)
	}
	for j := range order {
		c := cluster{first: j, last: j}
		place(&c)
		for len(cs) > 0 && cs[len(cs)-1].top+cs[len(cs)-1].high > c.top {
			c.first = cs[len(cs)-1].first
			cs = cs[:len(cs)-1]
			place(&c)
		}
		cs = append(cs, c)
	}
	for _, c := range cs {
		y := c.top
		for _, i := range order[c.first : c.last+1] {
			out[i] = y + heights[i]/2
			y += heights[i]
		}
	}
	return out
}
