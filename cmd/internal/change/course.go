package change

import (
	"math"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// course is a planned series of days with readings. Its intervals are those that [NewTrend] gives
// such readings.
type course struct {
	n       int
	length  float64   // months
	stated  float64   // variance of a day's mean that does not cancel between days, degrees^2
	take    float64   // further variance of a day's mean from take to take, degrees^2
	slopes  float64   // variance of the change for a variance of 1 of each day
	scatter []float64 // root of the mean squared residual of the days, degrees
	half    []float64 // half-width of the interval of the change at that scatter
	squares []float64 // quantiles of the mean squared residual of the days over their variance, at evenly spaced probabilities
}

// newCourse lays out n days, every days apart, with the given number of takes like r each. take is the
// standard deviation from take to take, degrees.
func newCourse(r *Reading, n, takes, every int, take, coverage float64) *course {
	first := time.Date(2000, 1, 3, 0, 0, 0, 0, time.UTC) // a placeholder
	single := newErrorModel([]Reading{planned(r, first, 0), planned(r, first, 1)}).own[0]
	var rs []Reading
	for day := range n {
		for k := range takes {
			one := planned(r, first.AddDate(0, 0, day*every), day*takes+k)
			if takes > 1 { // scatter as a typical day's takes do
				one.AngleDeg += math.Sqrt(single+take*take) * pattern(k, takes)
			}
			rs = append(rs, one)
		}
	}
	d := newDays(rs)
	c := &course{n: n, length: float64((n-1)*every) / month, take: take * take / float64(takes)}
	pts := d.points()
	c.stated = pts.own.At(0, 0) + pts.shared.At(0, 0) - pts.own.At(0, n-1) - pts.shared.At(0, n-1)
	var tt float64
	times := make([]float64, n)
	for i := range n {
		times[i] = (float64(i) - float64(n-1)/2) / float64(n-1) // parts of the whole
		tt += times[i] * times[i]
	}
	const quantiles = 12
	c.squares = make([]float64, quantiles)
	for k := range c.squares {
		if n > 2 { // two days leave no residuals
			c.squares[k] = distuv.ChiSquared{K: float64(n - 2)}.Quantile((float64(k)+0.5)/quantiles) / float64(n-2)
		}
	}
	c.slopes = 1 / tt
	if n < fewestDays {
		c.slopes = 2 // the last day less the first
	}
	shape := residuals(times)
	for _, s := range []float64{0, 2, 4, 7, 11, 16} { // halfAt interpolates between them
		for i := range n {
			// a change large enough to be real: only the width of its interval is used
			d.y[i] = 1000*times[i] + s*shape[i]
		}
		t := &Trend{Coverage: coverage, Days: d.list(coverage)}
		if err := t.drawLine(d, coverage); err != nil {
			continue
		}
		c.scatter, c.half = append(c.scatter, s), append(c.half, t.SmallestDeg)
		if n == 2 {
			break // two days leave no residuals
		}
	}
	return c
}

// planned is take k of a plan: like r, by one named rater with one named set-up. It may have missed as much of
// the widest moment as r.
func planned(r *Reading, day time.Time, k int) Reading {
	out := *r
	out.ID, out.Day, out.AnyDay, out.Athlete, out.Picture, out.Take, out.IDs = int64(k+1), day, false, "the athlete", "", "", nil
	out.Rater, out.Setup, out.Side, out.State, out.Session, out.AngleDeg = "rater", "set-up", "left", "warm", "", 150
	return out
}

// pattern is value k of n evenly spaced values of mean 0 and standard deviation (n-1) 1.
func pattern(k, n int) float64 {
	x := float64(k) - float64(n-1)/2
	return x / math.Sqrt(float64(n)*float64(n+1)/12)
}

// residuals returns values at times, which add up to 0, such that the line fitted to them is 0. Their sum of
// squares is n - 2; they are 0 for n < 3.
func residuals(times []float64) []float64 {
	n := len(times)
	out := make([]float64, n)
	if n < 3 {
		return out
	}
	var mean, along, tt, squares float64
	for i := range out {
		out[i] = float64(1 - 2*(i%2))
		if n == 3 && i == 1 {
			out[i] = -2
		}
		mean += out[i] / float64(n)
		tt += times[i] * times[i]
	}
	for i := range out {
		out[i] -= mean
		along += out[i] * times[i] / tt
	}
	for i := range out {
		out[i] -= along * times[i]
		squares += out[i] * out[i]
	}
	for i := range out {
		out[i] *= math.Sqrt(float64(n-2) / squares)
	}
	return out
}

// chance is the probability that a change of deg degrees over the course is called real, in its own
// direction: the mean over the athlete's variation from day to day and over the scatter of the days.
func (c *course) chance(deg float64, day variation) (p float64) {
	for _, v := range day {
		variance := c.stated + c.take + v.sd*v.sd
		sd := math.Sqrt(variance * c.slopes)
		for _, q := range c.squares {
			p += v.weight * math.Erfc((c.halfAt(math.Sqrt(variance*q))-deg)/sd/math.Sqrt2) / 2 / float64(len(c.squares))
		}
	}
	return p
}

// halfAt is the half-width of the change's interval at a scatter of the days.
func (c *course) halfAt(s float64) float64 {
	for i := 1; i < len(c.scatter); i++ {
		if s <= c.scatter[i] {
			a := (s - c.scatter[i-1]) / (c.scatter[i] - c.scatter[i-1])
			return c.half[i-1] + a*(c.half[i]-c.half[i-1])
		}
	}
	last := len(c.scatter) - 1
	if last < 1 {
		return c.half[0]
	}
	rise := (c.half[last] - c.half[last-1]) / (c.scatter[last] - c.scatter[last-1])
	return c.half[last] + math.Max(0, rise)*(s-c.scatter[last])
}

// smallestFound is the smallest change over the course, degrees, that is found with the chance.
func (c *course) smallestFound(chance float64, day variation) float64 {
	low, high := 0.0, 1.0
	for c.chance(high, day) < chance && high < 360 {
		high *= 2
	}
	const halvings = 20
	for range halvings {
		if mid := (low + high) / 2; c.chance(mid, day) < chance {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}
