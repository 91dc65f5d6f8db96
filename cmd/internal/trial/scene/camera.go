package scene

import (
	"fmt"
	"math"
)

// Camera is a pinhole with a lens. It stands Distance metres from Target along
// its own axis, which goes through the principal point, and it turns about Target
// by R = Rz(Roll) Rx(Pitch) Ry(Yaw): a direction v in the world shows as the
// first two components of R v, x right and y up.
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

// Project returns the pixel of a point in the world through the pinhole and the
// lens, and false where the point is not in front of the camera.
func (c Camera) Project(p Vec) (x, y float64, ok bool) {
	v := c.view()
	return v.project(p)
}

// Scaled returns the pixel of a point by scaled orthography: the scale is that
// at Target, and neither depth nor lens plays a part.
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

// view is a camera at one moment, ready for points and rays.
type view struct {
	r             mat
	from          Vec
	focal, cx, cy float64
	lens          Lens
	straight      bool // no lens
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
