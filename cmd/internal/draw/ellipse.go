package draw

import (
	"math"

	"ecart/cmd/internal/reading"
)

// ellipse95 is the semi-axis of the 95 % ellipse of a two-dimensional normal
// distribution, in standard deviations: the square root of the chi-squared quantile for
// two degrees of freedom, sqrt(-2 ln 0.05).
var ellipse95 = math.Sqrt(-2 * math.Log(0.05))

// Ellipse is a mark's 95 % ellipse: its semi-axes in pixels of the take, and Tilt, the
// direction of the long axis in radians, clockwise as seen.
type Ellipse struct{ Long, Short, Tilt float64 }

// EllipseOf computes the ellipse from the mark's covariance.
func EllipseOf(m reading.Mark) (Ellipse, error) {
	c := m.Covariance
	a, b, d := c[0][0], (c[0][1]+c[1][0])/2, c[1][1]
	const largest = 1e8 // px^2, a standard deviation of 10,000 pixels
	bad := Problem("give its standard deviation in pixels, or place it several times",
		"the uncertainty of mark %q is not known: its covariance is %g", m.Landmark, m.Covariance)
	if !Finite(a, b, d) || a < 0 || d < 0 || a > largest || d > largest {
		return Ellipse{}, bad
	}
	mean, half := (a+d)/2, math.Hypot((a-d)/2, b)
	// a singular covariance has an eigenvalue of 0 up to rounding
	if mean-half < -1e-9*mean {
		return Ellipse{}, bad
	}
	return Ellipse{
		Long:  ellipse95 * math.Sqrt(mean+half),
		Short: ellipse95 * math.Sqrt(max(0, mean-half)),
		Tilt:  math.Atan2(2*b, a-d) / 2,
	}, nil
}

// Scaled returns the ellipse at the given scale, with semi-axes of at least least.
func (e Ellipse) Scaled(scale, least float64) Ellipse {
	return Ellipse{max(e.Long*scale, least), max(e.Short*scale, least), e.Tilt}
}

// Ring returns the ellipse's outline about a centre.
func (e Ellipse) Ring(at Point) []Point {
	const n = 64
	pts := make([]Point, n)
	sin, cos := math.Sincos(e.Tilt)
	for i := range pts {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		x, y := e.Long*c, e.Short*s
		pts[i] = Point{at.X + x*cos - y*sin, at.Y + x*sin + y*cos}
	}
	return pts
}

// Box returns the bounding box of the ellipse.
func (e Ellipse) Box(at Point) Box {
	sin, cos := math.Sincos(e.Tilt)
	w, h := math.Hypot(e.Long*cos, e.Short*sin), math.Hypot(e.Long*sin, e.Short*cos)
	return Box{at.X - w, at.Y - h, at.X + w, at.Y + h}
}
