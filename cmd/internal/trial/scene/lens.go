package scene

import "math"

// Lens is what a lens adds to the pinhole, after Brown (1971) and Conrady
// (1919), with the coefficients in the order in which OpenCV writes them: k1, k2,
// p1, p2, k3. The zero Lens is straight.
//
//	x' = x (1 + k1 r2 + k2 r4 + k3 r6) + 2 p1 x y + p2 (r2 + 2 x2)
//	y' = y (1 + k1 r2 + k2 r4 + k3 r6) + p1 (r2 + 2 y2) + 2 p2 x y
//
// where x, y are tangents of angles from the axis, x right and y down.
type Lens [5]float64

// Bend takes a straight ray's tangents to where the lens puts them.
func (l Lens) Bend(x, y float64) (bx, by float64) {
	r2 := x*x + y*y
	radial := 1 + r2*(l[0]+r2*(l[1]+r2*l[4]))
	return x*radial + 2*l[2]*x*y + l[3]*(r2+2*x*x),
		y*radial + l[2]*(r2+2*y*y) + 2*l[3]*x*y
}

// Unbend is the inverse of Bend, by Newton's method: within 1e-12 wherever the
// lens does not fold the picture over.
func (l Lens) Unbend(bx, by float64) (x, y float64) {
	x, y = bx, by
	for range 20 {
		fx, fy := l.Bend(x, y)
		ex, ey := fx-bx, fy-by
		if math.Abs(ex)+math.Abs(ey) < 1e-13 {
			break
		}
		r2 := x*x + y*y
		radial := 1 + r2*(l[0]+r2*(l[1]+r2*l[4]))
		d := 2 * (l[0] + r2*(2*l[1]+3*r2*l[4])) // d radial / d(r2), doubled
		xx := radial + x*x*d + 2*l[2]*y + 6*l[3]*x
		xy := x*y*d + 2*l[2]*x + 2*l[3]*y
		yy := radial + y*y*d + 6*l[2]*y + 2*l[3]*x
		det := xx*yy - xy*xy
		if det == 0 {
			break
		}
		x -= (yy*ex - xy*ey) / det
		y -= (xx*ey - xy*ex) / det
	}
	return x, y
}
