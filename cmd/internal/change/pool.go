package change

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"ecart/geometry/uncertainty"
)

// weightedChange is one athlete's change as a sum of weights times readings, with what makes it
// uncertain beyond the readings' stated errors.
type weightedChange struct {
	readings []Reading
	w        []float64 // of each reading
	deg      float64
	day      float64 // variance from day to day and from take to take, degrees^2; each athlete's own
	habit    float64 // variance from an unknown state and from missed moments, degrees^2; other athletes may have the same
	spread   mixture // of the change about deg, for the athlete alone
}

// weightedChange is the sum of a[g] times the angle of day g. v is the variation from day to day.
func (d *days) weightedChange(a []float64, v variation) *weightedChange {
	c := &weightedChange{readings: d.readings, w: make([]float64, len(d.readings))}
	var times float64
	for g, factor := range a {
		c.deg += factor * d.y[g]
		c.day += factor * factor * (d.takes[g] - d.habits[g])
		c.habit += factor * factor * d.habits[g]
		times += factor * factor
		for i := range c.w {
			c.w[i] += factor * d.weights.At(g, i)
		}
	}
	c.spread = v.with(d.model.variance(c.w)+c.day+c.habit, times)
	c.day += times * v.variance()
	return c
}

// meanChange is the mean of an athlete's changes, such as of her two sides. Their errors are taken to be
// equal, which gives the widest interval.
func meanChange(cs []*weightedChange) *weightedChange {
	if len(cs) == 1 {
		return cs[0]
	}
	n := float64(len(cs))
	out := &weightedChange{spread: slices.Clone(cs[0].spread)}
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

// firstToLast is the trend's change from its first to its last day; nil with one day.
func (t *Trend) firstToLast() *weightedChange {
	n := len(t.Days)
	if n < 2 {
		return nil
	}
	a := make([]float64, n)
	if t.Line == nil {
		a[0], a[n-1] = -1, 1
		return t.days.weightedChange(a, t.variation)
	}
	f, length := t.Line.fit, months(t.Days[0].Day, t.Days[n-1].Day)
	for k, e := range f.extra {
		for g := range a {
			a[g] += length * e.weight * f.fits[k].by.At(1, g)
		}
	}
	c := t.days.weightedChange(a, t.variation)
	c.spread = f.spread([]float64{0, length})
	return c
}

// betweenAthletes returns the variance, degrees^2, of the sum of w[i] times reading i from errors
// that readings of different athletes share or may share. athlete[i] numbers the athlete
// of reading i. The rest of [errorModel.variance] is each athlete's own.
func (m *errorModel) betweenAthletes(athlete []int) func(w []float64) float64 {
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
			several[k][c] = alone(cells[c].members) < 0
		}
		for _, p := range m.may[k] {
			if a, b := alone(cells[p[0]].members), alone(cells[p[1]].members); a < 0 || b < 0 || a != b {
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

// sums returns the sums of w[i] times the common error of the cell's readings, over positive and over
// negative weights.
func (c *cell) sums(w []float64) (above, below float64) {
	for a, i := range c.members {
		if x := w[i] * c.u[a]; x > 0 {
			above += x
		} else {
			below += x
		}
	}
	return above, below
}

// effects are the estimates of one quantity in several athletes, of which each has a true
// value of its own: value i is normal about the mean with the variance v[i] plus the
// variance between athletes. The errors of different athletes are independent; what they
// may share is not in v and is added to the result (see pool).
type effects struct {
	y []float64 // degrees
	v []float64 // degrees^2
}

// mean returns the mean weighted by the inverse of the variances, given the variance between
// athletes, the variance of that mean, and the weighted sum of squares about it.
func (e effects) mean(between float64) (mean, variance, q float64) {
	var sum float64
	for i, y := range e.y {
		w := 1 / (e.v[i] + between)
		sum += w
		mean += w * y
	}
	mean /= sum
	for i, y := range e.y {
		q += (y - mean) * (y - mean) / (e.v[i] + between)
	}
	return mean, 1 / sum, q
}

// weights are those of the mean; they add up to 1.
func (e effects) weights(between float64) []float64 {
	_, variance, _ := e.mean(between)
	out := make([]float64, len(e.v))
	for i, v := range e.v {
		out[i] = variance / (v + between)
	}
	return out
}

// betweenAt is the variance between athletes at which the weighted sum of squares has the
// value q, degrees^2; 0 if the sum is smaller than that without any. The sum falls as the
// variance grows.
func (e effects) betweenAt(q float64) float64 {
	above := func(between float64) bool {
		_, _, got := e.mean(between)
		return got > q
	}
	if !above(0) {
		return 0
	}
	low, high := 0.0, 1.0
	for above(high) {
		low, high = high, 2*high
	}
	const halvings = 60
	for range halvings {
		if mid := (low + high) / 2; above(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

// between is the variance between athletes by the method of Paule and Mandel 1982 (J Res
// Natl Bur Stand 87:377; from memory): the weighted sum of squares equals its expectation.
func (e effects) between() float64 { return e.betweenAt(float64(len(e.y) - 1)) }

// betweenInterval is its interval by the Q profile (Viechtbauer 2007, Stat Med 26:37; from
// memory): the variances at which the weighted sum of squares is within its chi-squared
// limits.
func (e effects) betweenInterval(coverage float64) [2]float64 {
	d := distuv.ChiSquared{K: float64(len(e.y) - 1)}
	return [2]float64{e.betweenAt(d.Quantile((1 + coverage) / 2)), e.betweenAt(d.Quantile((1 - coverage) / 2))}
}

// spread is the standard uncertainty of the mean by Knapp and Hartung with the half-width
// of its interval by Student's t. It is never less than that from the variances alone,
// which a small sum of squares would else make it: the modification of Röver, Knapp and
// Friede 2015 (BMC Med Res Methodol 15:99).
func (e effects) spread(between, coverage float64) (sd, half float64) {
	_, variance, q := e.mean(between)
	freedom := float64(len(e.y) - 1)
	sd = math.Sqrt(variance * math.Max(1, q/freedom))
	return sd, sd * uncertainty.CoverageFactor(freedom, coverage)
}

// pool is the mean of the athletes' changes with random effects. Errors that readings of different
// athletes share, or may share, do not scatter: in the weights they would make the variance between
// athletes too small. They are left out there, and added in full to the uncertainty of the mean.
func pool(cs []*weightedChange, coverage float64) *Pooled {
	var rs []Reading
	var athlete, first []int
	for k, c := range cs {
		first = append(first, len(rs))
		rs = append(rs, c.readings...)
		for range c.readings {
			athlete = append(athlete, k)
		}
	}
	m := newErrorModel(rs)
	shared := m.betweenAthletes(athlete)
	var e effects
	for k, c := range cs {
		w := make([]float64, len(rs))
		copy(w[first[k]:], c.w)
		e.y = append(e.y, c.deg)
		e.v = append(e.v, math.Max(0, m.variance(w)-shared(w))+c.day)
	}
	between := e.between()
	out := &Pooled{Athletes: len(cs), BetweenDeg: math.Sqrt(between), BetweenInterval: e.betweenInterval(coverage)}
	for k, v := range out.BetweenInterval {
		out.BetweenInterval[k] = math.Sqrt(v)
	}
	out.MeanDeg, _, _ = e.mean(between)
	w := make([]float64, len(rs))
	var habit float64
	for k, weight := range e.weights(between) {
		for i, x := range cs[k].w {
			w[first[k]+i] = weight * x
		}
		habit += weight * math.Sqrt(cs[k].habit)
	}
	out.CommonDeg = math.Sqrt(shared(w) + habit*habit)
	sd, half := e.spread(between, coverage)
	out.StandardDeg = math.Hypot(sd, out.CommonDeg)
	out.SmallestDeg = math.Hypot(half, normal(coverage)*out.CommonDeg)
	out.IntervalDeg = [2]float64{out.MeanDeg - out.SmallestDeg, out.MeanDeg + out.SmallestDeg}
	out.Real = math.Abs(out.MeanDeg) > out.SmallestDeg
	return out
}
