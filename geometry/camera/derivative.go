package camera

import (
	"math"

	"ecart/geometry"
)

// Derivatives are the derivatives of a point in the plane of motion:
//
//	PixelX, PixelY           by the pixel, per pixel right and down
//	Z                        by the depth, per plane unit towards the camera
//	Roll, Pitch, Yaw         per radian
//	InverseFocal             per 1/px
//	PrincipalX, PrincipalY   by the principal point, per pixel right and down
type Derivatives struct {
	PixelX, PixelY, Z, Roll, Pitch, Yaw, InverseFocal, PrincipalX, PrincipalY geometry.Vec
}

// Differentiate returns the point that [Mapper.Plane] returns and its
// derivatives, by implicit differentiation of the 2 x 2 system A x = b:
// dx = A^-1 (db - dA x).
func (v View) Differentiate(pixel geometry.Point, z float64) (geometry.Point, Derivatives) {
	m := v.Mapper()
	s := m.system(pixel, z)
	x := s.solve(s.b1, s.b2)
	r, w := &m.r, m.w
	d := func(b1, b2 float64) geometry.Vec { return geometry.Vec(s.solve(b1, b2)) }
	// r3 is the point's coordinate along the optical axis, towards the camera, in plane units
	r3 := r[2][0]*x.X + r[2][1]*x.Y + r[2][2]*z
	rotated := func(dr matrix) geometry.Vec {
		dot := func(i int) float64 { return dr[i][0]*x.X + dr[i][1]*x.Y + dr[i][2]*z }
		return d(-dot(0)-s.p*w*dot(2), -dot(1)-s.q*w*dot(2))
	}
	roll, pitch, yaw := v.rotations()
	return x, Derivatives{
		PixelX:       d(1-w*r3, 0),
		PixelY:       d(0, -(1 - w*r3)),
		Z:            d(-(r[0][2] + s.p*w*r[2][2]), -(r[1][2] + s.q*w*r[2][2])),
		Roll:         rotated(roll),
		Pitch:        rotated(pitch),
		Yaw:          rotated(yaw),
		InverseFocal: d(-s.p*r3, -s.q*r3),
		PrincipalX:   d(w*r3, 0),
		PrincipalY:   d(0, -w*r3),
	}
}

// rotations returns the derivatives of the rotation R by roll, pitch and yaw.
func (v View) rotations() (roll, pitch, yaw matrix) {
	sr, cr := math.Sincos(float64(v.Roll))
	sp, cp := math.Sincos(float64(v.Pitch))
	sy, cy := math.Sincos(float64(v.Yaw))
	applyRoll := func(m matrix) matrix {
		for j := range 3 {
			m[0][j], m[1][j] = cr*m[0][j]-sr*m[1][j], sr*m[0][j]+cr*m[1][j]
		}
		return m
	}
	r := v.rotation()
	for j := range 3 {
		roll[0][j], roll[1][j] = -r[1][j], r[0][j]
	}
	pitch = applyRoll(matrix{{0, 0, 0}, {cp * sy, -sp, -cp * cy}, {sp * sy, cp, -sp * cy}})
	yaw = applyRoll(matrix{{-sy, 0, cy}, {sp * cy, 0, sp * sy}, {-cp * cy, 0, -cp * sy}})
	return roll, pitch, yaw
}
