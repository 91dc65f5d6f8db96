package camera

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
)

const deg = geometry.Degree

// split is a symmetric split in the plane of motion: hip, front, back.
func split(angle geometry.Angle) [3]geometry.Point {
	s, c := math.Sincos(float64(180*deg-angle) / 2)
	return [3]geometry.Point{{}, {X: 300 * c, Y: -300 * s}, {X: -300 * c, Y: -300 * s}}
}

func opening(p [3]geometry.Point) geometry.Angle {
	return geometry.Between(p[2].Sub(p[0]), p[1].Sub(p[0])).Positive()
}

// A symmetric split seen obliquely under scaled orthography. With b half of 180 minus the
// angle: tan b' = tan b / cos(yaw), tan b' = tan b cos(pitch). The table was computed from
// these two formulas, to a tenth of a degree.
func TestYawAndPitchTable(t *testing.T) {
	table := []struct{ true, y10, y20, y30, p10, p20, p30 float64 }{
		{120, 119.2, 116.9, 112.6, 120.8, 123.0, 126.9},
		{135, 134.4, 132.4, 128.9, 135.6, 137.5, 140.5},
		{150, 149.6, 148.2, 145.6, 150.4, 151.7, 153.9},
		{160, 159.7, 158.7, 157.0, 160.3, 161.2, 162.6},
		{170, 169.8, 169.4, 168.5, 170.2, 170.6, 171.3},
		{180, 180, 180, 180, 180, 180, 180},
	}
	const half = 0.05 + 1e-9 // half a unit of the last place of the table
	for _, row := range table {
		p := split(geometry.Angle(row.true) * deg)
		for i, want := range []float64{row.y10, row.y20, row.y30, row.p10, row.p20, row.p30} {
			v := View{Yaw: geometry.Angle(10*(i+1)) * deg}
			if i >= 3 {
				v = View{Pitch: geometry.Angle(10*(i-2)) * deg}
			}
			m := v.Mapper()
			var seen, back [3]geometry.Point
			for k := range p {
				px := m.Pixel(p[k], 0)
				seen[k] = geometry.Point{X: px.X, Y: -px.Y}
				back[k] = m.Plane(px, 0)
			}
			assert.InDelta(t, want, opening(seen).Degrees(), half, "%v %+v", row.true, v)
			assert.InDelta(t, row.true, opening(back).Degrees(), 1e-9)
		}
	}
}

func random(rng *rand.Rand) (View, geometry.Point, float64) {
	a := func(limit geometry.Angle) geometry.Angle { return limit * geometry.Angle(2*rng.Float64()-1) }
	v := View{
		Roll: a(20 * deg), Pitch: a(30 * deg), Yaw: a(30 * deg),
		InverseFocal: rng.Float64() / 1300,
		Principal:    geometry.Point{X: 960, Y: 540},
		Reference:    geometry.Point{X: 960 + 400*rng.NormFloat64(), Y: 540 + 200*rng.NormFloat64()},
	}
	return v, geometry.Point{X: v.Reference.X + 200*rng.NormFloat64(), Y: v.Reference.Y + 200*rng.NormFloat64()}, 30 * rng.NormFloat64()
}

func TestPixelAndPlaneAreInverse(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 1000 {
		v, px, z := random(rng)
		m := v.Mapper()
		back := m.Pixel(m.Plane(px, z), z)
		require.InDelta(t, px.X, back.X, 1e-8)
		require.InDelta(t, px.Y, back.Y, 1e-8)
	}
}

// The same projection computed with gonum, the rotation multiplied from its three factors.
func TestPixelIsAPinhole(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	turn := func(axis int, a geometry.Angle) *mat.Dense {
		m := mat.NewDense(3, 3, nil)
		i, j := (axis+1)%3, (axis+2)%3
		s, c := math.Sincos(float64(a))
		m.Set(axis, axis, 1)
		m.Set(i, i, c)
		m.Set(j, j, c)
		m.Set(i, j, -s)
		m.Set(j, i, s)
		return m
	}
	for range 200 {
		v, _, z := random(rng)
		v.InverseFocal = math.Max(v.InverseFocal, 1e-5)
		f := 1 / v.InverseFocal
		at := geometry.Point{X: 200 * rng.NormFloat64(), Y: 200 * rng.NormFloat64()}
		var r mat.Dense
		r.Mul(turn(2, v.Roll), turn(0, v.Pitch))
		r.Mul(&r, turn(1, v.Yaw))
		var c mat.VecDense
		c.MulVec(&r, mat.NewVecDense(3, []float64{at.X, at.Y, z}))
		// the origin of the plane lies at the distance f on the ray of the reference
		x := c.AtVec(0) + v.Reference.X - v.Principal.X
		y := c.AtVec(1) + v.Principal.Y - v.Reference.Y
		distance := f - c.AtVec(2)
		m := v.Mapper()
		got := m.Pixel(at, z)
		require.InDelta(t, v.Principal.X+f*x/distance, got.X, 1e-7)
		require.InDelta(t, v.Principal.Y-f*y/distance, got.Y, 1e-7)
	}
}

// Central differences: the step balances rounding (eps/h) against the third
// derivative (h^2), both about 1e-10 of a derivative of the order of the point.
func TestDerivatives(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 1000 {
		v, px, z := random(rng)
		_, d := v.Differentiate(px, z)
		check := func(name string, got geometry.Vec, h float64, at func(h float64) geometry.Point) {
			p, m := at(h), at(-h)
			want := p.Sub(m).Scale(1 / (2 * h))
			require.InDelta(t, want.X, got.X, 1e-6*(1+want.Norm()), name)
			require.InDelta(t, want.Y, got.Y, 1e-6*(1+want.Norm()), name)
		}
		plane := func(v View, px geometry.Point, z float64) geometry.Point { m := v.Mapper(); return m.Plane(px, z) }
		check("x", d.PixelX, 1e-3, func(h float64) geometry.Point { px := px; px.X += h; return plane(v, px, z) })
		check("y", d.PixelY, 1e-3, func(h float64) geometry.Point { px := px; px.Y += h; return plane(v, px, z) })
		check("z", d.Z, 1e-3, func(h float64) geometry.Point { return plane(v, px, z+h) })
		check("roll", d.Roll, 1e-5, func(h float64) geometry.Point { v := v; v.Roll += geometry.Angle(h); return plane(v, px, z) })
		check("pitch", d.Pitch, 1e-5, func(h float64) geometry.Point { v := v; v.Pitch += geometry.Angle(h); return plane(v, px, z) })
		check("yaw", d.Yaw, 1e-5, func(h float64) geometry.Point { v := v; v.Yaw += geometry.Angle(h); return plane(v, px, z) })
		check("principal x", d.PrincipalX, 1e-2, func(h float64) geometry.Point { v := v; v.Principal.X += h; return plane(v, px, z) })
		check("principal y", d.PrincipalY, 1e-2, func(h float64) geometry.Point { v := v; v.Principal.Y += h; return plane(v, px, z) })
		check("focal", d.InverseFocal, 1e-7, func(h float64) geometry.Point { v := v; v.InverseFocal += h; return plane(v, px, z) })
	}
}

func TestLevel(t *testing.T) {
	for _, want := range []float64{-20, -3, 0, 3, 20} {
		s, c := math.Sincos(want * math.Pi / 180)
		along, up := geometry.Point{X: 100 + 800*c, Y: 500 - 800*s}, geometry.Point{X: 100 - 800*s, Y: 500 - 800*c}
		from := geometry.Point{X: 100, Y: 500}
		for _, ends := range [][2]geometry.Point{{from, along}, {along, from}, {from, up}, {up, from}} {
			roll, u, err := Level(ends[0], ends[1], 1.5)
			require.NoError(t, err)
			assert.InDelta(t, want, roll.Degrees(), 1e-9)
			assert.InDelta(t, 1.5*math.Sqrt2/800, float64(u), 1e-12)
		}
	}
	_, _, err := Level(geometry.Point{X: 1, Y: 1}, geometry.Point{X: 1, Y: 1}, 1)
	assert.ErrorIs(t, err, ErrShort)
	_, _, err = Level(geometry.Point{}, geometry.Point{X: 100, Y: 90}, 1)
	assert.ErrorIs(t, err, ErrSlanted)
}

// Level recovers the roll from the two ends of a line that is level in the world.
func TestLevelFindsRoll(t *testing.T) {
	v := View{Roll: 7 * deg, Reference: geometry.Point{X: 500, Y: 400}}
	m := v.Mapper()
	roll, _, err := Level(m.Pixel(geometry.Point{X: -300}, 0), m.Pixel(geometry.Point{X: 300}, 0), 1)
	require.NoError(t, err)
	assert.InDelta(t, 7, roll.Degrees(), 1e-9)
}

func TestMappingAllocatesNothing(t *testing.T) {
	v, px, z := random(rand.New(rand.NewPCG(7, 8)))
	var sink geometry.Point
	assert.Zero(t, testing.AllocsPerRun(1000, func() { m := v.Mapper(); sink = m.Plane(px, z) }))
	_ = sink
}
