package scene

import "math"

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

// lerp goes from v (s = 0) to w (s = 1).
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

// across returns the unit vector across axis that lies closest to towards.
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
