package camera

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// mat24 returns the pixels of the corners of a rectangle of 2.4 by 1.2 m, at scale px per mm.
func mat24(v View, scale float64) [4]geometry.Point {
	m := v.Mapper()
	var c [4]geometry.Point
	for i, p := range []geometry.Point{{X: -1200, Y: 600}, {X: 1200, Y: 600}, {X: 1200, Y: -600}, {X: -1200, Y: -600}} {
		c[i] = m.Pixel(geometry.Point{X: p.X * scale, Y: p.Y * scale}, 0)
	}
	return c
}

// The plane inverts a pinhole camera in front of the rectangle, and Eye finds the camera's
// centre.
func TestPlaneInvertsThePinhole(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 5))
	for range 500 {
		v, _, _ := random(rng)
		v.InverseFocal = 1/1400.0 + 1e-4*rng.Float64()
		const scale = 0.25 // px per mm
		p := NewPlane(mat24(v, scale), 2400, 1200)
		m := v.Mapper()
		at := geometry.Point{X: 1000 * rng.NormFloat64(), Y: 500 * rng.NormFloat64()}
		got := p.At(m.Pixel(geometry.Point{X: at.X * scale, Y: at.Y * scale}, 0))
		require.InDelta(t, at.X, got.X, 1e-6)
		require.InDelta(t, at.Y, got.Y, 1e-6)
		px := p.Pixel(at)
		back := p.At(px)
		require.InDelta(t, at.X, back.X, 1e-6)

		eye, z := p.Eye(1/v.InverseFocal, v.Principal)
		// the camera's centre: R' applied to minus the translation
		f := 1 / v.InverseFocal
		r := v.rotation()
		tx, ty, tz := v.Reference.X-v.Principal.X, v.Principal.Y-v.Reference.Y, -f
		want := [3]float64{}
		for k := range 3 {
			want[k] = -(r[0][k]*tx + r[1][k]*ty + r[2][k]*tz) / scale
		}
		require.InDelta(t, want[0], eye.X, 1e-5)
		require.InDelta(t, want[1], eye.Y, 1e-5)
		require.InDelta(t, want[2], z, 1e-5)
	}
}

// A rectified picture is a view along the normal from the camera's centre: with that centre
// as principal point, a View corrects a point at a known depth off the plane.
func TestPlaneThenViewCorrectsDepth(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 6))
	for range 200 {
		v, _, _ := random(rng)
		v.InverseFocal = 1 / 1400.0
		const scale = 0.25
		p := NewPlane(mat24(v, scale), 2400, 1200)
		m := v.Mapper()
		at := geometry.Point{X: 500 * rng.NormFloat64(), Y: 300 * rng.NormFloat64()}
		depth := 150 * rng.NormFloat64()
		seen := p.At(m.Pixel(geometry.Point{X: at.X * scale, Y: at.Y * scale}, depth*scale))
		eye, z := p.Eye(1400, v.Principal)
		square := View{InverseFocal: 1 / z, Principal: geometry.Point{X: eye.X, Y: -eye.Y}}.Mapper()
		got := square.Plane(geometry.Point{X: seen.X, Y: -seen.Y}, depth)
		require.InDelta(t, at.X, got.X, 1e-5)
		require.InDelta(t, at.Y, got.Y, 1e-5)
	}
}

func TestPlaneDerivatives(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 7))
	const h = 1e-3 // px: third derivatives and rounding both leave under 1e-6 mm/px
	for range 200 {
		v, px, _ := random(rng)
		v.InverseFocal = 1 / 1400.0
		corners := mat24(v, 0.25)
		p := NewPlane(corners, 2400, 1200)
		d := p.Differentiate(px)
		check := func(got geometry.Vec, at func(h float64) geometry.Point) {
			want := at(h).Sub(at(-h)).Scale(1 / (2 * h))
			require.InDelta(t, want.X, got.X, 1e-4*(1+want.Norm()))
			require.InDelta(t, want.Y, got.Y, 1e-4*(1+want.Norm()))
		}
		check(geometry.Vec{X: d.ByPixel[0][0], Y: d.ByPixel[1][0]}, func(h float64) geometry.Point { return p.At(px.Add(geometry.Vec{X: h})) })
		check(geometry.Vec{X: d.ByPixel[0][1], Y: d.ByPixel[1][1]}, func(h float64) geometry.Point { return p.At(px.Add(geometry.Vec{Y: h})) })
		for k := range 4 {
			for axis := range 2 {
				check(d.ByCorner[k][axis], func(h float64) geometry.Point {
					c := corners
					if axis == 0 {
						c[k].X += h
					} else {
						c[k].Y += h
					}
					q := NewPlane(c, 2400, 1200)
					return q.At(px)
				})
			}
		}
	}
}

func TestTiltAndScale(t *testing.T) {
	for _, yaw := range []float64{0, 30, 60} {
		p := NewPlane(mat24(View{Yaw: geometry.Angle(yaw) * deg, Reference: geometry.Point{X: 500, Y: 500}}, 0.25), 2400, 1200)
		assert.InDelta(t, yaw, p.Tilt().Degrees(), 1e-6)
		assert.InDelta(t, 0.25*math.Sqrt(math.Cos(yaw*math.Pi/180)), p.Scale(geometry.Point{}), 1e-9)
	}
}

func TestCornersRefused(t *testing.T) {
	good := [4]geometry.Point{{X: 200, Y: 300}, {X: 900, Y: 310}, {X: 890, Y: 650}, {X: 210, Y: 640}}
	require.NoError(t, CheckCorners(good, 2.4, 1.2))
	swap := func(order ...int) (c [4]geometry.Point) {
		for i, k := range order {
			c[i] = good[k]
		}
		return c
	}
	at := func(k int, p geometry.Point) (c [4]geometry.Point) { c = good; c[k] = p; return c }
	for _, c := range []struct {
		corners [4]geometry.Point
		w, h    float64
		want    string
	}{
		{swap(0, 3, 2, 1), 2.4, 1.2, "wrong way round"},
		{swap(0, 2, 1, 3), 2.4, 1.2, "two sides cross"},
		{swap(1, 2, 3, 0), 2.4, 1.2, "not the top left"},
		{swap(2, 3, 0, 1), 2.4, 1.2, "not the top left"},
		{at(2, geometry.Point{X: 895, Y: 480}), 0, 1.2, "cannot be used"},
		{at(1, geometry.Point{X: 550, Y: 645}), 2.4, 1.2, "line"},
		{at(2, geometry.Point{X: 400, Y: 400}), 2.4, 1.2, "dent"},
		{at(1, good[0]), 2.4, 1.2, "on the same spot"},
		{at(1, geometry.Point{X: math.NaN()}), 2.4, 1.2, "no position"},
		{[4]geometry.Point{{X: 200, Y: 300}, {X: 260, Y: 300}, {X: 260, Y: 700}, {X: 200, Y: 700}}, 2.4, 1.2, "edge-on"},
	} {
		err := CheckCorners(c.corners, c.w, c.h)
		var ce *CornerError
		require.ErrorAs(t, err, &ce, c.want)
		assert.Contains(t, ce.Error(), c.want)
		assert.NotEmpty(t, ce.Hint())
	}
}
