package reading

import (
	"ecart/geometry"
	"ecart/geometry/camera"
	"ecart/geometry/uncertainty"
)

// gradient is the derivative of [model.degrees] by each input, at the means, by the chain rule: angle
// by points, points by view and image points, image points by pixel, lens and corners. Only the
// position of the camera's centre is differentiated numerically, by corners and focal length
// (central differences).
func (m *model) gradient() []float64 {
	x := uncertainty.Means(m.blocks)
	g := make([]float64, len(x))
	n := len(m.names)
	v := m.view(x)
	var plane camera.Plane
	if m.plane != nil {
		plane = m.drawnPlane(x)
		eye, z := plane.Eye(m.focalLength(x), m.principal)
		v.Principal, v.InverseFocal = geometry.Point{X: eye.X, Y: -eye.Y}, 1/z
	}
	var ahead float64
	if m.aheadAt > 0 {
		ahead = x[m.aheadAt]
	}
	var pts, seen [maxPoints]geometry.Point
	var by [maxPoints]camera.Derivatives
	var on [maxPoints]camera.PlanePoint
	for i := range n {
		late := geometry.Vec{}
		if m.movement != nil {
			late = m.skew[i].Scale(x[m.peakAt+2])
		}
		at := m.straight(&m.marks[i], late.X, late.Y, x)
		seen[i] = at
		if m.plane != nil {
			on[i] = plane.Differentiate(at)
			at = geometry.Point{X: on[i].At.X, Y: -on[i].At.Y}
		}
		pts[i], by[i] = v.Differentiate(at, ahead+x[m.depthAt+i]*m.stature)
	}
	var partial [maxPoints]geometry.Vec
	m.bound.Partials(pts[:n], partial[:n])

	// all depths are in proportion to the body's size, which depends on the view
	growth := m.growth(&pts)
	var deeper float64
	for i := range n {
		deeper += partial[i].Dot(by[i].Z) * x[m.depthAt+i] * m.stature
	}
	var eye [3]float64 // by the principal point's x and y and the inverse focal length
	var corner [4]geometry.Vec
	for i := range n {
		d, q := by[i], g[perPoint*i:]
		q[2], q[3] = m.perMm*partial[i].X, m.perMm*partial[i].Y
		partial[i] = partial[i].Add(growth[i].Scale(deeper))
		image := geometry.Vec{X: partial[i].Dot(d.PixelX), Y: partial[i].Dot(d.PixelY)}
		g[m.depthAt+i] = partial[i].Dot(d.Z) * m.stature
		if m.aheadAt > 0 {
			g[m.aheadAt] += partial[i].Dot(d.Z)
		}
		g[m.anglesAt] += partial[i].Dot(d.Roll)
		g[m.anglesAt+1] += partial[i].Dot(d.Pitch)
		g[m.anglesAt+2] += partial[i].Dot(d.Yaw)
		eye[0] += partial[i].Dot(d.PrincipalX)
		eye[1] += partial[i].Dot(d.PrincipalY)
		eye[2] += partial[i].Dot(d.InverseFocal)
		straight := image
		if m.plane != nil {
			j := on[i].ByPixel
			straight = geometry.Vec{X: image.X*j[0][0] - image.Y*j[1][0], Y: image.X*j[0][1] - image.Y*j[1][1]}
			for k := range corner {
				c := on[i].ByCorner[k]
				corner[k].X += image.X*c[0].X - image.Y*c[0].Y
				corner[k].Y += image.X*c[1].X - image.Y*c[1].Y
			}
		}
		q[0], q[1] = m.throughLens(&m.marks[i], seen[i], straight, g)
		if m.movement != nil {
			g[m.peakAt+2] += q[0]*m.skew[i].X + q[1]*m.skew[i].Y
		}
	}
	if m.plane != nil {
		m.throughCorners(x, eye, &corner, g)
	} else if m.perspectiveAt > 0 {
		f := m.focalLength(x)
		g[m.perspectiveAt] = -eye[2] / f / x[m.perspectiveAt] // 1/f falls as the focal length or the distance grows
	}
	for i := range g {
		g[i] = geometry.Angle(g[i]).Degrees()
	}
	if m.movement != nil {
		g[m.peakAt], g[m.peakAt+1] = 1, 1 // in degrees already
	}
	return g
}

// throughLens converts a derivative by the straightened pixel to one by the pixel, and adds the
// derivatives by the lens to g; at is the straightened pixel.
func (m *model) throughLens(s *camera.Straightened, at geometry.Point, by geometry.Vec, g []float64) (dx, dy float64) {
	j := s.ByPixel
	switch {
	case m.lensAt == 0:
	case m.lensKnown():
		for k := range camera.LensParameters {
			g[m.lensAt+k] += by.Dot(s.Parameters[k])
		}
	default:
		v := at.Sub(m.principal)
		g[m.lensAt] += by.Dot(v) * v.Dot(v) / (m.lensReach * m.lensReach)
	}
	return by.X*j[0][0] + by.Y*j[1][0], by.X*j[0][1] + by.Y*j[1][1]
}

// throughCorners adds the derivatives by the corners and, through the position of the camera's centre,
// by the perspective.
func (m *model) throughCorners(x []float64, eye [3]float64, corner *[4]geometry.Vec, g []float64) {
	var at [4]geometry.Point
	for k := range at {
		at[k] = m.straight(&m.plane.by[k], 0, 0, x)
	}
	f := m.focalLength(x)
	seen := func(at [4]geometry.Point, f float64) [3]float64 {
		p := camera.NewPlane(at, m.plane.width, m.plane.height)
		e, z := p.Eye(f, m.principal)
		return [3]float64{e.X, -e.Y, 1 / z}
	}
	slope := func(up, down [3]float64, step float64) (s float64) {
		for i := range eye {
			s += eye[i] * (up[i] - down[i]) / (2 * step)
		}
		return s
	}
	const step = 0.01 // px
	for k := range at {
		for axis := range 2 {
			up, down := at, at
			if axis == 0 {
				up[k].X += step
				down[k].X -= step
				corner[k].X += slope(seen(up, f), seen(down, f), step)
			} else {
				up[k].Y += step
				down[k].Y -= step
				corner[k].Y += slope(seen(up, f), seen(down, f), step)
			}
		}
		g[m.cornersAt+2*k], g[m.cornersAt+2*k+1] = m.throughLens(&m.plane.by[k], at[k], corner[k], g)
	}
	if m.perspectiveAt > 0 {
		h := 1e-4 * f
		g[m.perspectiveAt] = slope(seen(at, f+h), seen(at, f-h), h) * f / x[m.perspectiveAt]
	}
}
