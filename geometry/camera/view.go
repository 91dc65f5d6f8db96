package camera

import (
	"math"

	"ecart/geometry"
)

// View is the orientation and position of the camera relative to the plane of motion.
// The zero value looks at it along its normal, level, from infinitely far.
type View struct {
	Roll, Pitch, Yaw geometry.Angle
	// InverseFocal is 1 / (focal length in pixels); 0 is scaled orthography. Since the
	// plane's unit is one pixel at the reference, the focal length is also the camera's
	// distance in that unit.
	InverseFocal float64
	// Principal is the pixel on the optical axis. It has no effect if InverseFocal is 0.
	Principal geometry.Point
	// Reference is the pixel at which the plane's origin is seen.
	Reference geometry.Point
}

// matrix is a 3 x 3 matrix, row by row.
type matrix [3][3]float64

// Mapper holds what all points of a View share, computed once.
type Mapper struct {
	r    matrix
	w    float64
	p, o geometry.Point // principal point and reference, pixels
}

// Mapper returns the view's mapper.
func (v View) Mapper() Mapper {
	return Mapper{r: v.rotation(), w: v.InverseFocal, p: v.Principal, o: v.Reference}
}

// rotation is Rz(roll) Rx(pitch) Ry(yaw), multiplied out.
func (v *View) rotation() matrix {
	sr, cr := math.Sincos(float64(v.Roll))
	sp, cp := math.Sincos(float64(v.Pitch))
	sy, cy := math.Sincos(float64(v.Yaw))
	a, b := sp*sy, -sp*cy
	return matrix{
		{cr*cy - sr*a, -sr * cp, cr*sy - sr*b},
		{sr*cy + cr*a, cr * cp, sr*sy + cr*b},
		{-cp * sy, sp, cp * cy},
	}
}

// Plane returns the coordinates, in the plane of motion, of the point seen at the pixel,
// given that it is z plane units nearer to the camera than the plane. It solves
//
//	(R1 + p w R3) (X, Y, z)' = p - a,   (R2 + q w R3) (X, Y, z)' = q - b
//
// with (p, q) the pixel and (a, b) the reference from the principal point, y
// up, and w the inverse focal length. For a plane seen edge-on the result
// is infinite or NaN.
func (m *Mapper) Plane(pixel geometry.Point, z float64) geometry.Point {
	s := m.Sight(pixel)
	return s.At(z)
}

// Sight is the line of sight of a pixel: its foot is where it meets the plane of motion,
// its slope the shift in X and Y per unit towards the camera.
type Sight struct {
	Foot  geometry.Point
	Slope geometry.Vec
}

// At returns X and Y of the point on the line of sight that is z nearer to the camera
// than the plane.
func (s *Sight) At(z float64) geometry.Point {
	return geometry.Point{X: s.Foot.X + z*s.Slope.X, Y: s.Foot.Y + z*s.Slope.Y}
}

// Sight returns the line of sight of a pixel; its At(z) is [Mapper.Plane] at depth z.
func (m *Mapper) Sight(pixel geometry.Point) Sight {
	r := &m.r
	wp, wq := m.w*(pixel.X-m.p.X), m.w*(m.p.Y-pixel.Y)
	a11, a12, c1 := r[0][0]+wp*r[2][0], r[0][1]+wp*r[2][1], r[0][2]+wp*r[2][2]
	a21, a22, c2 := r[1][0]+wq*r[2][0], r[1][1]+wq*r[2][1], r[1][2]+wq*r[2][2]
	b1, b2 := pixel.X-m.o.X, m.o.Y-pixel.Y
	k := 1 / (a11*a22 - a12*a21)
	return Sight{
		Foot:  geometry.Point{X: (b1*a22 - b2*a12) * k, Y: (a11*b2 - a21*b1) * k},
		Slope: geometry.Vec{X: (c2*a12 - c1*a22) * k, Y: (a21*c1 - a11*c2) * k},
	}
}

// system is the 2 x 2 linear system of [Mapper.Plane] for one pixel and depth.
type system struct {
	a11, a12, a21, a22, b1, b2, p, q float64
}

func (m *Mapper) system(pixel geometry.Point, z float64) system {
	p, q := pixel.X-m.p.X, m.p.Y-pixel.Y
	wp, wq := m.w*p, m.w*q
	r := &m.r
	return system{
		a11: r[0][0] + wp*r[2][0], a12: r[0][1] + wp*r[2][1],
		a21: r[1][0] + wq*r[2][0], a22: r[1][1] + wq*r[2][1],
		b1: pixel.X - m.o.X - z*(r[0][2]+wp*r[2][2]),
		b2: m.o.Y - pixel.Y - z*(r[1][2]+wq*r[2][2]),
		p:  p, q: q,
	}
}

func (s *system) solve(b1, b2 float64) geometry.Point {
	d := s.a11*s.a22 - s.a12*s.a21
	return geometry.Point{X: (b1*s.a22 - b2*s.a12) / d, Y: (s.a11*b2 - s.a21*b1) / d}
}

// Pixel is the inverse of Plane: the pixel at which a point raised by z above the plane
// is seen.
func (m *Mapper) Pixel(at geometry.Point, z float64) geometry.Point {
	r := &m.r
	dot := func(i int) float64 { return r[i][0]*at.X + r[i][1]*at.Y + r[i][2]*z }
	a, b := m.o.X-m.p.X, m.p.Y-m.o.Y
	d := 1 - m.w*dot(2)
	return geometry.Point{X: m.p.X + (a+dot(0))/d, Y: m.p.Y - (b+dot(1))/d}
}
