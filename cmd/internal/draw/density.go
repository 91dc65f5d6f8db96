package draw

import (
	"math"
	"slices"

	"ecart/cmd/internal/reading"
)

// Bulk returns the ends of the central interval that contains 99.9 % of d; NaN if d has
// no values.
func Bulk(d reading.Density) (from, to float64) {
	total := 0.0
	for _, v := range d.Values {
		total += v
	}
	from, to = math.NaN(), math.NaN()
	sum := 0.0
	for i, v := range d.Values {
		before := sum
		sum += v
		if before < 0.0005*total && sum >= 0.0005*total {
			from = d.FromDeg + float64(i)*d.StepDeg
		}
		if before < 0.9995*total && sum >= 0.9995*total {
			to = d.FromDeg + float64(i+1)*d.StepDeg
		}
	}
	return from, to
}

// Outline returns d as an outline over a horizontal scale. It begins and ends on the base
// line at y = base and is at most high. The sampling noise of the bins is smoothed, and
// bins narrower than finest are merged.
func Outline(d reading.Density, k Scale, finest, base, high float64) []Point {
	if len(d.Values) == 0 {
		return nil
	}
	n := max(1, int(math.Ceil(finest/(d.StepDeg*k.PerUnit()))))
	values := smooth(d)
	var at, height []float64
	peak := 0.0
	for i := 0; i < len(values); i += n {
		part := values[i:min(i+n, len(values))]
		sum := 0.0
		for _, v := range part {
			sum += v
		}
		deg := d.FromDeg + d.StepDeg*(float64(i)+float64(len(part))/2)
		v := sum / float64(len(part))
		if k.In(deg) {
			at, height = append(at, k.At(deg)), append(height, v)
		}
		peak = max(peak, v)
	}
	if peak == 0 || len(at) == 0 {
		return nil
	}
	// Without the far tails, which would draw a line along the base.
	first, last := 0, len(at)-1
	low := func(i int) bool { return height[i] < 0.004*peak }
	for last-first > 1 && low(first) && low(first+1) {
		first++
	}
	for last-first > 1 && low(last) && low(last-1) {
		last--
	}
	pts := []Point{{at[first], base}}
	for i := first; i <= last; i++ {
		pts = append(pts, Point{at[i], base - high*height[i]/peak})
	}
	return append(pts, Point{at[last], base})
}

// Top returns the y of the upper edge of an outline at x, or base outside the outline.
func Top(outline []Point, x, base float64) float64 {
	top := base
	for i := 1; i < len(outline); i++ {
		a, b := outline[i-1], outline[i]
		if a.X <= x && x <= b.X && b.X > a.X {
			top = min(top, a.Y+(b.Y-a.Y)*(x-a.X)/(b.X-a.X))
		}
	}
	return top
}

// smooth averages each bin with its neighbours, with weights 1-2-1. A pass adds half a
// squared bin width to the variance; passes are repeated until the standard deviation has
// grown by about 1 %.
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
