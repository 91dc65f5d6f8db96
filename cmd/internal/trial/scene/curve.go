package scene

import "gonum.org/v1/gonum/interp"

// curveStep is the spacing of a curve's control points in seconds: short
// against a limb's swing, long enough to round off every key.
const curveStep = 0.02

// curve is a quantity over time: twice continuously differentiable, and never
// past the keys it was drawn through.
type curve struct {
	start  float64
	points []float64
}

// key is a quantity's value at a time.
type key struct{ t, v float64 }

// newCurve draws a monotone cubic (Fritsch and Butland 1984) through the keys,
// and takes its samples as control points of a uniform cubic B-spline.
func newCurve(scale float64, keys ...key) curve {
	if len(keys) == 1 {
		return curve{keys[0].t, []float64{keys[0].v * scale}}
	}
	ts, vs := make([]float64, len(keys)), make([]float64, len(keys))
	for i, k := range keys {
		ts[i], vs[i] = k.t, k.v*scale
	}
	var fit interp.FritschButland
	if err := fit.Fit(ts, vs); err != nil {
		panic("scene: keys not in order of time: " + err.Error())
	}
	c := curve{start: ts[0]}
	for i := 0; ; i++ {
		t := ts[0] + float64(i)*curveStep
		if t > ts[len(ts)-1] {
			break
		}
		c.points = append(c.points, fit.Predict(t))
	}
	return c
}

// at returns the value at a time; before the first key and after the last one
// it stays.
func (c curve) at(t float64) float64 {
	n := len(c.points)
	if n == 1 {
		return c.points[0]
	}
	x := clamp((t-c.start)/curveStep, -2, float64(n)+1)
	i := int(x+2) - 2
	u := x - float64(i)
	p := func(k int) float64 { return c.points[max(0, min(n-1, k))] }
	return ((1-u)*(1-u)*(1-u)*p(i-1) + (3*u*u*u-6*u*u+4)*p(i) +
		(-3*u*u*u+3*u*u+3*u+1)*p(i+1) + u*u*u*p(i+2)) / 6
}

// highest finds where a smooth function is largest on [a, b]: a fine grid, then
// the golden section about its best point.
func highest(f func(float64) float64, a, b float64) (at, value float64) {
	const grid = 0.002
	best, bestAt := f(a), a
	for t := a; t <= b; t += grid {
		if v := f(t); v > best {
			best, bestAt = v, t
		}
	}
	lo, hi := max(a, bestAt-grid), min(b, bestAt+grid)
	const ratio = 0.6180339887498949
	for range 60 {
		x, y := hi-ratio*(hi-lo), lo+ratio*(hi-lo)
		if f(x) < f(y) {
			lo = x
		} else {
			hi = y
		}
	}
	at = (lo + hi) / 2
	return at, f(at)
}
