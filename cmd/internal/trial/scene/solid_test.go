package scene

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func drawVec(t *rapid.T, name string, reach float64) Vec {
	f := rapid.Float64Range(-reach, reach)
	return Vec{f.Draw(t, name+"x"), f.Draw(t, name+"y"), f.Draw(t, name+"z")}
}

// inside says whether a point is in the hull of two balls, by asking every ball
// between them: an own, slow way.
func inside(o *solid, p Vec) bool {
	q := o.to.mul(p.Sub(o.a))
	const balls = 4000
	for i := range balls + 1 {
		s := float64(i) / balls
		r := o.ra + (o.rb-o.ra)*s
		if q.X*q.X+sq(q.Y-s*o.h)+q.Z*q.Z <= r*r {
			return true
		}
	}
	return false
}

// A ray's hit is on the surface, the way there is free, and the normal is the
// surface's own.
func TestSolidHit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := newSolid(drawVec(t, "a", 0.5), drawVec(t, "b", 0.5),
			rapid.Float64Range(0.05, 0.3).Draw(t, "ra"), rapid.Float64Range(0.05, 0.3).Draw(t, "rb"),
			rapid.Float64Range(0.6, 1.8).Draw(t, "wide"), drawVec(t, "along", 1), partTrunk, stuff{})
		from := drawVec(t, "from", 1).Add(Vec{Z: 4})
		dir := drawVec(t, "to", 0.6).Sub(from).Unit()
		at, normal, ok := o.hit(from, dir)

		const step, skin = 0.02, 2e-3 // m: the balls of the slow way leave dents of 1e-4
		end := 8.0
		if ok {
			end = at - skin
		}
		for s := 0.5; s < end; s += step {
			if inside(&o, from.Add(dir.Mul(s))) {
				grazing := ok && at-s < step
				require.True(t, grazing, "in the solid at %g before its hit at %g", s, at)
			}
		}
		if !ok {
			return
		}
		p := from.Add(dir.Mul(at))
		n := o.out(normal)
		require.LessOrEqual(t, n.Dot(dir), 1e-9)
		require.InDelta(t, 1, n.Norm(), 1e-9)
		require.False(t, inside(&o, p.Add(n.Mul(skin))))
		require.True(t, inside(&o, p.Sub(n.Mul(skin))))
		d, local := o.away(p)
		require.InDelta(t, 0, d, 1e-9)
		require.InDelta(t, 1, local.Dot(normal), 1e-6)
	})
}

func TestEllipsoid(t *testing.T) {
	o := ellipsoid(Vec{X: 1}, Vec{X: 1}, Vec{Y: 1}, Vec{Z: 1}, 0.1, 0.2, 0.3, partHead, stuff{})
	at, n, ok := o.hit(Vec{X: 1, Z: 2}, Vec{Z: -1})
	require.True(t, ok)
	require.InDelta(t, 1.7, at, exact)
	require.InDelta(t, 1, o.out(n).Z, exact)
	at, _, ok = o.hit(Vec{X: 1, Y: 3}, Vec{Y: -1})
	require.True(t, ok)
	require.InDelta(t, 2.8, at, exact)
	_, _, ok = o.hit(Vec{X: 1.11, Y: 3}, Vec{Y: -1})
	require.False(t, ok)
}

func TestDisc(t *testing.T) {
	d := disc{at: Vec{}, normal: Vec{Z: 1}, r: 0.02}
	at, ok := d.hit(Vec{X: 0.0199, Z: 1}, Vec{Z: -1})
	require.True(t, ok)
	require.InDelta(t, 1, at, exact)
	_, ok = d.hit(Vec{X: 0.0201, Z: 1}, Vec{Z: -1})
	require.False(t, ok)
	_, ok = d.hit(Vec{Z: -1}, Vec{Z: 1})
	require.False(t, ok, "from behind")
	require.True(t, math.Abs(curved(linear(200)/1)-200.0/255) < exact)
}
