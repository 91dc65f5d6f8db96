package scene

import (
	"fmt"
	"math"
)

// Camera is a pinhole camera with lens distortion. It stands Distance metres from
// Target along its optical axis and is rotated about Target by
// R = Rz(Roll) Rx(Pitch) Ry(Yaw). The first two components of R v are the
// picture's x (right) and y (up) of a direction v in the world.
type Camera struct {
	Width, Height    int     // of the picture, px
	Focal            float64 // px
	CX, CY           float64 // principal point, px
	Target           Vec
	Distance         float64 // m
	Yaw, Pitch, Roll float64 // rad
	Lens             Lens
}

// LookAt returns a camera square to the plane of motion, its principal point
// in the middle of the picture. It looks at target from distance metres.
func LookAt(width, height int, focal float64, target Vec, distance float64) Camera {
	return Camera{
		Width: width, Height: height, Focal: focal,
		CX: float64(width-1) / 2, CY: float64(height-1) / 2,
		Target: target, Distance: distance,
	}
}

// Rotation returns R by rows: the camera's x, y (up) and z (backwards) axes in
// the world.
func (c Camera) Rotation() [3]Vec { return rotation(c.Yaw, c.Pitch, c.Roll) }

// Position returns where the pinhole is.
func (c Camera) Position() Vec {
	return c.Target.Add(c.Rotation()[2].Mul(c.Distance))
}

// Project returns the pixel of a point in the world, with lens distortion; false
// if the point is not in front of the camera.
func (c Camera) Project(p Vec) (x, y float64, ok bool) {
	v := c.view()
	return v.project(p)
}

// Scaled returns the pixel of a point by scaled orthographic projection, at the
// scale of Target: without perspective or lens distortion.
func (c Camera) Scaled(p Vec) (x, y float64) {
	q := rotation(c.Yaw, c.Pitch, c.Roll).mul(p.Sub(c.Target))
	s := c.Focal / c.Distance
	return c.CX + s*q.X, c.CY - s*q.Y
}

func (c Camera) check() error {
	switch {
	case c.Width < 16 || c.Height < 16 || c.Width > 16384 || c.Height > 16384:
		return fmt.Errorf("scene: picture of %d by %d pixels: each side must be 16 to 16384", c.Width, c.Height)
	case !(c.Focal > 0) || math.IsInf(c.Focal, 0):
		return fmt.Errorf("scene: focal length %g px: it must be above 0", c.Focal)
	case !(c.Distance > 0) || math.IsInf(c.Distance, 0):
		return fmt.Errorf("scene: camera distance %g m: it must be above 0", c.Distance)
	}
	return nil
}

// view is a camera at one moment, with its rotation and position worked out.
type view struct {
	r             mat
	from          Vec
	focal, cx, cy float64
	lens          Lens
	straight      bool // no lens distortion
}

func (c Camera) view() view {
	r := rotation(c.Yaw, c.Pitch, c.Roll)
	return view{
		r: r, from: c.Target.Add(r[2].Mul(c.Distance)),
		focal: c.Focal, cx: c.CX, cy: c.CY, lens: c.Lens, straight: c.Lens == Lens{},
	}
}

func (v *view) project(p Vec) (x, y float64, ok bool) {
	q := v.r.mul(p.Sub(v.from))
	if q.Z >= 0 {
		return math.NaN(), math.NaN(), false
	}
	x, y = -q.X/q.Z, q.Y/q.Z
	if !v.straight {
		x, y = v.lens.Bend(x, y)
	}
	return v.cx + v.focal*x, v.cy + v.focal*y, true
}

// ray returns the unit direction in which a pixel looks.
func (v *view) ray(x, y float64) Vec {
	nx, ny := (x-v.cx)/v.focal, (y-v.cy)/v.focal
	if !v.straight {
		nx, ny = v.lens.Unbend(nx, ny)
	}
	return v.r.mulT(Vec{nx, -ny, -1}).Unit()
}

// Lens is the lens distortion of Brown (1971) and Conrady (1919), with the
// coefficients in OpenCV's order: k1, k2, p1, p2, k3. The zero Lens has no
// distortion.
//
//	x' = x (1 + k1 r2 + k2 r4 + k3 r6) + 2 p1 x y + p2 (r2 + 2 x2)
//	y' = y (1 + k1 r2 + k2 r4 + k3 r6) + p1 (r2 + 2 y2) + 2 p2 x y
//
// where x, y are the tangents of the angles from the optical axis, x right and
// y down, and rN, xN, yN are N-th powers.
type Lens [5]float64

// Bend distorts the tangents of a ray.
func (l Lens) Bend(x, y float64) (bx, by float64) {
	r2 := x*x + y*y
	radial := 1 + r2*(l[0]+r2*(l[1]+r2*l[4]))
	return x*radial + 2*l[2]*x*y + l[3]*(r2+2*x*x),
		y*radial + l[2]*(r2+2*y*y) + 2*l[3]*x*y
}

// Unbend is the inverse of Bend, by Newton's method, within 1e-12 wherever the
// distortion is one-to-one.
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

// Vec is a point or a direction in metres: X along the motion, Y up, Z towards
// the camera.
type Vec struct{ X, Y, Z float64 }

// Add returns v + w.
func (v Vec) Add(w Vec) Vec { return Vec{v.X + w.X, v.Y + w.Y, v.Z + w.Z} }

// Sub returns v - w.
func (v Vec) Sub(w Vec) Vec { return Vec{v.X - w.X, v.Y - w.Y, v.Z - w.Z} }

// Mul returns s v.
func (v Vec) Mul(s float64) Vec { return Vec{s * v.X, s * v.Y, s * v.Z} }

// Dot returns the scalar product.
func (v Vec) Dot(w Vec) float64 { return v.X*w.X + v.Y*w.Y + v.Z*w.Z }

// Cross returns the vector product.
func (v Vec) Cross(w Vec) Vec {
	return Vec{v.Y*w.Z - v.Z*w.Y, v.Z*w.X - v.X*w.Z, v.X*w.Y - v.Y*w.X}
}

// Norm returns the length of v.
func (v Vec) Norm() float64 { return math.Sqrt(v.Dot(v)) }

// Unit returns v with length 1; the zero vector stays as it is.
func (v Vec) Unit() Vec {
	n := v.Norm()
	if n == 0 {
		return v
	}
	return v.Mul(1 / n)
}

// lerp interpolates linearly from v (s = 0) to w (s = 1).
func lerp(v, w Vec, s float64) Vec { return v.Add(w.Sub(v).Mul(s)) }

// mat is a 3x3 matrix by rows.
type mat [3]Vec

func (m mat) mul(v Vec) Vec { return Vec{m[0].Dot(v), m[1].Dot(v), m[2].Dot(v)} }

// mulT multiplies with the transpose: the inverse of a rotation.
func (m mat) mulT(v Vec) Vec {
	return Vec{
		m[0].X*v.X + m[1].X*v.Y + m[2].X*v.Z,
		m[0].Y*v.X + m[1].Y*v.Y + m[2].Y*v.Z,
		m[0].Z*v.X + m[1].Z*v.Y + m[2].Z*v.Z,
	}
}

func (m mat) times(n mat) mat {
	var out mat
	for i, r := range m {
		out[i] = n[0].Mul(r.X).Add(n[1].Mul(r.Y)).Add(n[2].Mul(r.Z))
	}
	return out
}

// rotation is R = Rz(roll) Rx(pitch) Ry(yaw), each turning counter-clockwise
// seen against its axis.
func rotation(yaw, pitch, roll float64) mat {
	sy, cy := math.Sincos(yaw)
	sp, cp := math.Sincos(pitch)
	sr, cr := math.Sincos(roll)
	ry := mat{{cy, 0, sy}, {0, 1, 0}, {-sy, 0, cy}}
	rx := mat{{1, 0, 0}, {0, cp, -sp}, {0, sp, cp}}
	rz := mat{{cr, -sr, 0}, {sr, cr, 0}, {0, 0, 1}}
	return rz.times(rx.times(ry))
}

// across returns the unit vector perpendicular to axis that is nearest to towards.
func across(axis, towards Vec) Vec {
	axis = axis.Unit()
	n := towards.Sub(axis.Mul(axis.Dot(towards)))
	if n.Norm() < 1e-9 {
		n = axis.Cross(Vec{X: 1})
		if n.Norm() < 1e-6 {
			n = axis.Cross(Vec{Y: 1})
		}
	}
	return n.Unit()
}

func clamp(x, lo, hi float64) float64 { return max(lo, min(hi, x)) }

// smoothstep rises from 0 at a to 1 at b with level ends.
func smoothstep(a, b, x float64) float64 {
	s := clamp((x-a)/(b-a), 0, 1)
	return s * s * (3 - 2*s)
}

const degree = math.Pi / 180
