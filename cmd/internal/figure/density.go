package figure

import (
	"math"
	"slices"

	"ecart/cmd/internal/reading"
)

// bulk returns the angles between which the density holds all but a thousandth,
// and the interval.
func bulk(r *reading.Reading) (from, to float64) {
	from, to = min(r.IntervalDeg[0], r.AngleDeg), max(r.IntervalDeg[1], r.AngleDeg)
	d := r.Density
	total := 0.0
	for _, v := range d.Values {
		total += v
	}
	sum := 0.0
	for i, v := range d.Values {
		before := sum
		sum += v
		if before < 0.0005*total && sum >= 0.0005*total {
			from = min(from, d.FromDeg+float64(i)*d.StepDeg)
		}
		if before < 0.9995*total && sum >= 0.9995*total {
			to = max(to, d.FromDeg+float64(i+1)*d.StepDeg)
		}
	}
	return from, to
}

// curve turns the density into an outline that begins and ends on the base. The
// scatter of the draws from bin to bin is smoothed, and bins narrower than two
// pixels are taken together.
func curve(d reading.Density, k *ruler, base, high float64) []point {
	px := k.Width / (k.To - k.From)
	n := max(1, int(math.Ceil(2/(d.StepDeg*px))))
	values := smooth(d)
	var pts []point
	peak := 0.0
	for i := 0; i < len(values); i += n {
		part := values[i:min(i+n, len(values))]
		sum := 0.0
		for _, v := range part {
			sum += v
		}
		at := d.FromDeg + d.StepDeg*(float64(i)+float64(len(part))/2)
		v := sum / float64(len(part))
		if at >= k.From && at <= k.To {
			pts = append(pts, point{k.x(at), v})
		}
		peak = max(peak, v)
	}
	if peak == 0 || len(pts) == 0 {
		return nil
	}
	// The far tails would draw a line along the edge.
	for len(pts) > 2 && pts[0].Y < 0.004*peak && pts[1].Y < 0.004*peak {
		pts = pts[1:]
	}
	for n := len(pts); n > 2 && pts[n-1].Y < 0.004*peak && pts[n-2].Y < 0.004*peak; n = len(pts) {
		pts = pts[:n-1]
	}
	for i := range pts {
		pts[i].Y = base - high*pts[i].Y/peak
	}
	ends := []point{{pts[0].X, base}}
	return slices.Concat(ends, pts, []point{{pts[len(pts)-1].X, base}})
}

// smooth averages each bin with its neighbours, 1-2-1, as often as widens the
// density by no more than about one part in a hundred: a pass adds half a bin
// squared to its variance.
func smooth(d reading.Density) []float64 {
	const widened = 0.02 // of the variance
	sum, mean, square := 0.0, 0.0, 0.0
	for i, v := range d.Values {
		sum += v
		mean += v * float64(i)
		square += v * float64(i) * float64(i)
	}
	values := slices.Clone(d.Values)
	if !(sum > 0) {
		return values
	}
	mean /= sum
	passes := min(64, int(2*widened*(square/sum-mean*mean)))
	for range passes {
		before, last := values[0], len(values)-1
		for i, v := range values {
			values[i] = (before + 2*v + values[min(i+1, last)]) / 4
			before = v
		}
	}
	return values
}
