package calibrate

import (
	"math"

	"ecart/geometry"
	"ecart/geometry/camera"
)

// The nine parameters of a lens, in this order everywhere.
const (
	fx = iota
	fy
	cx
	cy
	k1
	k2
	p1
	p2
	k3
	parameters
)

// lens is a camera's nine parameters: two focal lengths and a principal point in pixels,
// and the coefficients of its distortion, as in camera.Lens.
type lens [parameters]float64

// vec is a position or a direction in space, in squares of the board.
type vec [3]float64

func (a vec) dot(b vec) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func (a vec) plus(b vec, s float64) vec { return vec{a[0] + s*b[0], a[1] + s*b[1], a[2] + s*b[2]} }

// pose is the pose of a board in the camera's frame: x right, y down, z forwards. A place
// X on the board is at r X + t.
type pose struct {
	r [3]vec
	t vec
}

// poseParameters is the number of parameters of a pose: a small rotation about the camera's axes,
// applied after r, and a translation.
const poseParameters = 6

// slopes are the derivatives of a corner's two pixel coordinates by the lens, by the pose
// and by the corner's place on the board.
type slopes struct {
	lens  [2][parameters]float64
	pose  [2][poseParameters]float64
	place [2]vec
}

// turn returns a direction on the board in the camera's frame.
func (q *pose) turn(d vec) (out vec) {
	for i := range 3 {
		out[i] = q.r[i][0]*d[0] + q.r[i][1]*d[1] + q.r[i][2]*d[2]
	}
	return out
}

// depth returns the distance of a place on the board in front of the camera, in squares.
func (q *pose) depth(at vec) float64 { return q.turn(at)[2] + q.t[2] }

// project returns the pixel of a place on the board. It sets d, if not nil, to the
// derivatives.
func (l *lens) project(q *pose, place vec, d *slopes) geometry.Point {
	m := q.turn(place)
	p := m.plus(q.t, 1)
	x, y := p[0]/p[2], p[1]/p[2]
	xd, yd, bent := camera.Bend((*[5]float64)(l[k1:]), x, y)
	out := geometry.Point{X: l[fx]*xd + l[cx], Y: l[fy]*yd + l[cy]}
	if d == nil {
		return out
	}
	r2 := x*x + y*y
	r4, r6 := r2*r2, r2*r2*r2
	d.lens[0] = [parameters]float64{xd, 0, 1, 0, l[fx] * x * r2, l[fx] * x * r4, l[fx] * 2 * x * y, l[fx] * (r2 + 2*x*x), l[fx] * x * r6}
	d.lens[1] = [parameters]float64{0, yd, 0, 1, l[fy] * y * r2, l[fy] * y * r4, l[fy] * (r2 + 2*y*y), l[fy] * 2 * x * y, l[fy] * y * r6}

	// by x and y, then by the place, then by the step: d place = turn x m + shift
	xx, xy, yy := bent[0][0], bent[0][1], bent[1][1]
	z := 1 / p[2]
	for i, g := range [2]vec{
		{l[fx] * xx * z, l[fx] * xy * z, -l[fx] * (xx*x + xy*y) * z},
		{l[fy] * xy * z, l[fy] * yy * z, -l[fy] * (xy*x + yy*y) * z},
	} {
		d.pose[i] = [poseParameters]float64{
			m[1]*g[2] - m[2]*g[1], m[2]*g[0] - m[0]*g[2], m[0]*g[1] - m[1]*g[0],
			g[0], g[1], g[2],
		}
		for k := range 3 {
			d.place[i][k] = g[0]*q.r[0][k] + g[1]*q.r[1][k] + g[2]*q.r[2][k]
		}
	}
	return out
}

// moved returns the pose after a step.
func (q *pose) moved(d [poseParameters]float64) pose {
	turn := rotation(vec{d[0], d[1], d[2]})
	var out pose
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				out.r[i][j] += turn[i][k] * q.r[k][j]
			}
		}
		out.t[i] = q.t[i] + d[3+i]
	}
	return out
}

// rotation returns the matrix of a rotation vector (Rodrigues).
func rotation(v vec) [3]vec {
	a := math.Sqrt(v[0]*v[0] + v[1]*v[1] + v[2]*v[2])
	s, c := 1.0, 0.5 // sin a / a and (1 - cos a) / a2 at nought
	if a > 1e-9 {
		h := math.Sin(a/2) / a
		s, c = math.Sin(a)/a, 2*h*h
	}
	x, y, z := v[0], v[1], v[2]
	return [3]vec{
		{1 - c*(y*y+z*z), c*x*y - s*z, c*x*z + s*y},
		{c*x*y + s*z, 1 - c*(x*x+z*z), c*y*z - s*x},
		{c*x*z - s*y, c*y*z + s*x, 1 - c*(x*x+y*y)},
	}
}

// tilt returns the angle between the board's normal and the optical axis. It is 0 if the
// board is parallel to the sensor.
func (q *pose) tilt() geometry.Angle {
	n := vec{q.r[0][2], q.r[1][2], q.r[2][2]}
	return geometry.Angle(math.Atan2(math.Hypot(n[0], n[1]), math.Abs(n[2])))
}
