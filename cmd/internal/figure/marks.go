package figure

import (
	"math"

	"ecart/cmd/internal/hand"
	"ecart/cmd/internal/reading"
)

// ellipse95 is how many standard deviations the ellipse that holds 95 % of a
// two-dimensional normal distribution reaches: the root of the chi-squared
// quantile for two degrees of freedom, sqrt(-2 ln 0.05).
var ellipse95 = math.Sqrt(-2 * math.Log(0.05))

// ellipse is a mark's 95 % ellipse in pixels of the take; Tilt is the direction of
// its long axis in radians, clockwise as seen.
type ellipse struct{ Long, Short, Tilt float64 }

// ellipseOf works out the ellipse from the mark's covariance.
func ellipseOf(m reading.Mark) (ellipse, error) {
	c := m.Covariance
	a, b, d := c[0][0], (c[0][1]+c[1][0])/2, c[1][1]
	const largest = 1e8 // px^2, a standard deviation of 10,000 pixels
	bad := hand.Problem("give its standard deviation in pixels, or place it several times",
		"the uncertainty of mark %q is not known: its covariance is %g", m.Landmark, m.Covariance)
	if !hand.Finite(a, b, d) || a < 0 || d < 0 || a > largest || d > largest {
		return ellipse{}, bad
	}
	mean, half := (a+d)/2, math.Hypot((a-d)/2, b)
	// A covariance of two equal rows has an eigenvalue of nothing, give or take
	// rounding.
	if mean-half < -1e-9*mean {
		return ellipse{}, bad
	}
	return ellipse{
		Long:  ellipse95 * math.Sqrt(mean+half),
		Short: ellipse95 * math.Sqrt(max(0, mean-half)),
		Tilt:  math.Atan2(2*b, a-d) / 2,
	}, nil
}

// scaled returns the ellipse as drawn at the given scale, no axis below least.
func (e ellipse) scaled(scale, least float64) ellipse {
	return ellipse{max(e.Long*scale, least), max(e.Short*scale, least), e.Tilt}
}

// ring returns the ellipse's outline about a centre.
func (e ellipse) ring(at point) []point {
	const n = 64
	pts := make([]point, n)
	sin, cos := math.Sincos(e.Tilt)
	for i := range pts {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		x, y := e.Long*c, e.Short*s
		pts[i] = point{at.X + x*cos - y*sin, at.Y + x*sin + y*cos}
	}
	return pts
}

// box returns the upright rectangle about the ellipse.
func (e ellipse) box(at point) box {
	sin, cos := math.Sincos(e.Tilt)
	w, h := math.Hypot(e.Long*cos, e.Short*sin), math.Hypot(e.Long*sin, e.Short*cos)
	return box{at.X - w, at.Y - h, at.X + w, at.Y + h}
}
