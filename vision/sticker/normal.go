package sticker

import "math"

// factor replaces the upper triangle of h by Cholesky's R with h = R^T R, and reports whether h
// is positive.
func factor(h *[allCount][allCount]float64) bool {
	for i := range allCount {
		for k := range i {
			for j := i; j < allCount; j++ {
				h[i][j] -= h[k][i] * h[k][j]
			}
		}
		if !(h[i][i] > 1e-30) {
			return false
		}
		r := 1 / math.Sqrt(h[i][i])
		for j := i; j < allCount; j++ {
			h[i][j] *= r
		}
	}
	return true
}

// back solves R^T R x = g.
func back(r *[allCount][allCount]float64, g *[allCount]float64) (x [allCount]float64) {
	for i := range allCount {
		v := g[i]
		for k := range i {
			v -= r[k][i] * x[k]
		}
		x[i] = v / r[i][i]
	}
	for i := allCount - 1; i >= 0; i-- {
		v := x[i]
		for k := i + 1; k < allCount; k++ {
			v -= r[i][k] * x[k]
		}
		x[i] = v / r[i][i]
	}
	return x
}

// solve solves h x = g for a symmetric h given by its upper triangle.
func solve(h [allCount][allCount]float64, g *[allCount]float64) ([allCount]float64, bool) {
	if !factor(&h) {
		return [allCount]float64{}, false
	}
	return back(&h, g), true
}
