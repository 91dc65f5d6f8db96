package pose

import (
	"math"
	"slices"
)

// parabola is a + b x + c x^2, or with d x^3 a cubic, with the scatter of values about it.
type parabola struct {
	a, b, c, d float64
	sd         float64 // standard deviation of one value, from the median residual
	n          int     // number of values
}

func (p parabola) at(x float64) float64 { return p.a + x*(p.b+x*(p.c+x*p.d)) }

// fitParabola fits y over x robustly, so that a minority of outliers has no weight. It minimises
// the sum of absolute residuals by reweighted least squares, and goes on with Tukey's biweight,
// which is 0 from 4.685 sd on. With two or three values it fits a straight line, with one the value.
func fitParabola(x, y []float64) parabola { return fitRobust(x, y, 3) }

// fitLine is fitParabola with a straight line.
func fitLine(x, y []float64) parabola { return fitRobust(x, y, 2) }

// fitRobust is fitParabola with three terms, a cubic with four, a straight line with two, and the mean with one.
func fitRobust(x, y []float64, terms int) parabola {
	w := make([]float64, len(x))
	for i := range w {
		w[i] = 1
	}
	var p parabola
	const rounds, absolute = 24, 16
	for k := range rounds {
		p = fitWeighted(x, y, w, terms)
		off := make([]float64, len(x))
		for i := range x {
			off[i] = math.Abs(y[i] - p.at(x[i]))
		}
		sorted := slices.Sorted(slices.Values(off))
		if len(sorted) == 0 {
			return p
		}
		p.sd = 1.4826 * sorted[len(sorted)/2] // median to standard deviation of a normal distribution
		for i := range w {
			switch r := off[i] / (4.685 * p.sd); {
			case p.sd == 0:
				return p
			case k < absolute:
				w[i] = 1 / math.Max(off[i], p.sd/100)
			case r < 1:
				w[i] = (1 - r*r) * (1 - r*r)
			default:
				w[i] = 0
			}
		}
	}
	return p
}

// fitWeighted is the least-squares fit with weights w.
func fitWeighted(x, y, w []float64, terms int) parabola {
	if len(x) <= terms {
		terms = min(terms, 2, len(x))
	}
	n, t := make([][]float64, terms), make([]float64, terms)
	for k := range n {
		n[k] = make([]float64, terms)
	}
	for i := range x {
		powers := [4]float64{1, x[i], x[i] * x[i], x[i] * x[i] * x[i]}
		for k := range n {
			t[k] += w[i] * powers[k] * y[i]
			for l := range n {
				n[k][l] += w[i] * powers[k] * powers[l]
			}
		}
	}
	var c [4]float64
	copy(c[:], solve(n, t))
	return parabola{a: c[0], b: c[1], c: c[2], d: c[3], n: len(x)}
}

// solve solves the normal equations n v = t by elimination, and overwrites both. What they do not determine is 0.
func solve(n [][]float64, t []float64) []float64 {
	for k := range n {
		pivot := n[k][k]
		for r := range n {
			if r == k || pivot <= 0 {
				continue
			}
			by := n[r][k] / pivot
			for c := range n {
				n[r][c] -= by * n[k][c]
			}
			t[r] -= by * t[k]
		}
	}
	for k := range n {
		if n[k][k] > 0 {
			t[k] /= n[k][k]
		} else {
			t[k] = 0
		}
	}
	return t
}
