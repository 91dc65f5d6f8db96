package change

import (
	"math"
	"slices"
)

// contrast is one athlete's change as a sum of weights times readings, with what makes it
// uncertain beyond the readings' stated errors.
type contrast struct {
	readings []Reading
	w        []float64 // of each reading
	deg      float64
	day      float64 // variance from day to day and from take to take, degrees^2; each athlete's own
	habit    float64 // variance from an unknown state and from missed moments, degrees^2; other athletes may have the same
	spread   mixture // of the change about deg, for the athlete alone
}

// contrast is the sum of a[g] times the angle of day g. v is the variation from day to day.
func (d *days) contrast(a []float64, v variation) *contrast {
	c := &contrast{readings: d.readings, w: make([]float64, len(d.readings))}
	var times float64
	for g, of := range a {
		c.deg += of * d.y[g]
		c.day += of * of * (d.takes[g] - d.habits[g])
		c.habit += of * of * d.habits[g]
		times += of * of
		for i := range c.w {
			c.w[i] += of * d.weights.At(g, i)
		}
	}
	c.spread = v.with(d.model.variance(c.w)+c.day+c.habit, times)
	c.day += times * v.variance()
	return c
}

// meanContrast is the mean of an athlete's changes, such as of her two sides. What is said
// of each is taken to have the same errors in all, which is the widest.
func meanContrast(cs []*contrast) *contrast {
	if len(cs) == 1 {
		return cs[0]
	}
	n := float64(len(cs))
	out := &contrast{spread: slices.Clone(cs[0].spread)}
	for k := range out.spread {
		out.spread[k] = normalPart{}
	}
	var day, habit float64
	for _, c := range cs {
		out.readings = append(out.readings, c.readings...)
		for _, w := range c.w {
			out.w = append(out.w, w/n)
		}
		out.deg += c.deg / n
		day += math.Sqrt(c.day) / n
		habit += math.Sqrt(c.habit) / n
		for k, p := range c.spread {
			s := &out.spread[k]
			s.weight, s.mean, s.sd = s.weight+p.weight/n, s.mean+p.mean/n, s.sd+p.sd/n
		}
	}
	out.day, out.habit = day*day, habit*habit
	return out
}

// change is the trend's change from its first to its last day as a contrast; nil with one
// day.
func (t *Trend) change() *contrast {
	n := len(t.Days)
	if n < 2 {
		return nil
	}
	a := make([]float64, n)
	if t.Line == nil {
		a[0], a[n-1] = -1, 1
		return t.days.contrast(a, t.variation)
	}
	f, length := t.Line.fit, months(t.Days[0].Day, t.Days[n-1].Day)
	for k, e := range f.extra {
		for g := range a {
			a[g] += length * e.weight * f.fits[k].by.At(1, g)
		}
	}
	c := t.days.contrast(a, t.variation)
	c.spread = f.spread([]float64{0, length})
	return c
}

// between returns the variance, degrees^2, of the sum of w[i] times reading i from errors
// that readings of different athletes share or may share. athlete[i] numbers the athlete
// of reading i. What it leaves out of [errorModel.variance] is each athlete's own.
func (m *errorModel) between(athlete []int) func(w []float64) float64 {
	several := make([][]bool, len(m.shared)) // by rule and cell: errors of several athletes
	for k, cells := range m.shared {
		several[k] = make([]bool, len(cells))
		alone := func(of []int) int { // the only athlete, -1: several
			for _, i := range of {
				if athlete[i] != athlete[of[0]] {
					return -1
				}
			}
			return athlete[of[0]]
		}
		for c := range cells {
			several[k][c] = alone(cells[c].of) < 0
		}
		for _, p := range m.may[k] {
			if a, b := alone(cells[p[0]].of), alone(cells[p[1]].of); a < 0 || b < 0 || a != b {
				several[k][p[0]], several[k][p[1]] = true, true
			}
		}
	}
	return func(w []float64) (v float64) {
		for k, cells := range m.shared {
			above, below := make([]float64, len(cells)), make([]float64, len(cells))
			for c := range cells {
				above[c], below[c] = cells[c].sums(w)
				if !several[k][c] {
					continue
				}
				if cells[c].sure() {
					above[c], below[c] = above[c]+below[c], 0
				}
				v += above[c]*above[c] + below[c]*below[c]
				above[c], below[c] = cells[c].sums(w)
			}
			for _, p := range m.may[k] {
				if several[k][p[0]] || several[k][p[1]] {
					v += 2 * (above[p[0]]*above[p[1]] + below[p[0]]*below[p[1]])
				}
			}
		}
		return v
	}
}

// sums are the sums of w[i] times the common error of each reading of the cell, of
// weights above 0 and below.
func (c *cell) sums(w []float64) (above, below float64) {
	for a, i := range c.of {
		if x := w[i] * c.u[a]; x > 0 {
			above += x
		} else {
			below += x
		}
	}
	return above, below
}
