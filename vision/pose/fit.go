package pose

import (
	"math"
	"slices"
)

// parabola is a + b x + c x^2 with the scatter of values about it.
type parabola struct {
	a, b, c float64
	sd      float64 // standard deviation of one value, from the median residual
	n       int     // number of values
}

func (p parabola) at(x float64) float64 { return p.a + x*(p.b+x*p.c) }

// fitParabola fits y over x robustly, so that a minority of outliers has no weight. It minimises
// the sum of absolute residuals by reweighted least squares, and goes on with Tukey's biweight,
// which is 0 from 4.685 sd on. With two or three values it fits a straight line, with one the value.
func fitParabola(x, y []float64) parabola { return fitRobust(x, y, 3) }

// fitLine is fitParabola with a straight line.
func fitLine(x, y []float64) parabola { return fitRobust(x, y, 2) }

// fitRobust is fitParabola with three terms, or a straight line with two.
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
	var s [5]float64
	var t [3]float64
	for i := range x {
		v := w[i]
		for k := range s {
			s[k] += v
			if k < 3 {
				t[k] += v * y[i]
			}
			v *= x[i]
		}
	}
	p := parabola{n: len(x)}
	switch {
	case len(x) >= 4 && terms > 2:
		d := s[0]*(s[2]*s[4]-s[3]*s[3]) - s[1]*(s[1]*s[4]-s[2]*s[3]) + s[2]*(s[1]*s[3]-s[2]*s[2])
		if d != 0 {
			p.a = (t[0]*(s[2]*s[4]-s[3]*s[3]) - s[1]*(t[1]*s[4]-t[2]*s[3]) + s[2]*(t[1]*s[3]-t[2]*s[2])) / d
			p.b = (s[0]*(t[1]*s[4]-t[2]*s[3]) - t[0]*(s[1]*s[4]-s[2]*s[3]) + s[2]*(s[1]*t[2]-t[1]*s[2])) / d
			p.c = (s[0]*(s[2]*t[2]-s[3]*t[1]) - s[1]*(s[1]*t[2]-s[2]*t[1]) + t[0]*(s[1]*s[3]-s[2]*s[2])) / d
			return p
		}
		fallthrough
	case len(x) >= 2:
		if d := s[0]*s[2] - s[1]*s[1]; d != 0 {
			p.b = (s[0]*t[1] - s[1]*t[0]) / d
			p.a = (t[0] - p.b*s[1]) / s[0]
			return p
		}
		fallthrough
	case len(x) >= 1:
		p.a = t[0] / s[0]
	}
	return p
}
