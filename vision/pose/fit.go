package pose

import (
	"math"
	"slices"
)

// parabola is a + b x + c x^2 with the scatter about it.
type parabola struct {
	a, b, c float64
	sd      float64 // of one value, robust
	n       int
}

func (p parabola) at(x float64) float64 { return p.a + x*(p.b+x*p.c) }

// fitParabola fits y over x so that a minority of values that are wholly wrong counts
// nothing: first with the least sum of absolute residuals, then with Tukey's weights about
// that, 4.685 times the median residual being the limit. With fewer than four values it
// fits a straight line or their mean.
func fitParabola(x, y []float64) parabola { return fitted(x, y, 3) }

// fitLine is fitParabola with a straight line.
func fitLine(x, y []float64) parabola { return fitted(x, y, 2) }

// fitted fits that many terms.
func fitted(x, y []float64, terms int) parabola {
	w := make([]float64, len(x))
	for i := range w {
		w[i] = 1
	}
	var p parabola
	const rounds, absolute = 24, 16
	for k := range rounds {
		p = weighted(x, y, w, terms)
		off := make([]float64, len(x))
		for i := range x {
			off[i] = math.Abs(y[i] - p.at(x[i]))
		}
		sorted := slices.Sorted(slices.Values(off))
		if len(sorted) == 0 {
			return p
		}
		p.sd = 1.4826 * sorted[len(sorted)/2] // of a normal scatter
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

func weighted(x, y, w []float64, terms int) parabola {
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
