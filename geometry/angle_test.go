package geometry_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/geometry"
)

const deg = geometry.Degree

func TestDegrees(t *testing.T) {
	for k := -8; k <= 8; k++ {
		d := 45 * float64(k)
		assert.Equal(t, d, (geometry.Angle(d) * deg).Degrees(), "multiples of 45 up to a full turn come back exactly")
	}
	assert.Equal(t, geometry.Angle(math.Pi), 180*deg)
	assert.NotEqual(t, 29.0, (29 * deg).Degrees(), "the counter-example of the documentation")
}

func TestPositiveAndSigned(t *testing.T) {
	const tolerance = 1e-14 // a few roundings of 2 pi
	for _, c := range []struct{ in, positive, signed geometry.Angle }{
		{0, 0, 0},
		{180 * deg, 180 * deg, 180 * deg},
		{-180 * deg, 180 * deg, 180 * deg},
		{190 * deg, 190 * deg, -170 * deg},
		{-10 * deg, 350 * deg, -10 * deg},
		{360 * deg, 0, 0},
		{-360 * deg, 0, 0},
		{725 * deg, 5 * deg, 5 * deg},
		{-725 * deg, 355 * deg, -5 * deg},
		{-1e-300, 0, -1e-300},
	} {
		assert.InDelta(t, float64(c.positive), float64(c.in.Positive()), tolerance, "%v", c.in.Degrees())
		assert.InDelta(t, float64(c.signed), float64(c.in.Signed()), tolerance, "%v", c.in.Degrees())
	}
	for _, a := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		assert.True(t, math.IsNaN(float64(geometry.Angle(a).Positive())))
		assert.True(t, math.IsNaN(float64(geometry.Angle(a).Signed())))
	}
}

func TestAnglesLieInTheirStatedRanges(t *testing.T) {
	const tolerance = 1e-12 // angles up to 1000 rad, rounded to 1.1e-13
	rapid.Check(t, func(t *rapid.T) {
		a := geometry.Angle(rapid.Float64Range(-1000, 1000).Draw(t, "a"))
		about := geometry.Angle(rapid.Float64Range(-1000, 1000).Draw(t, "about"))
		congruent := func(b geometry.Angle, what string) {
			require.InDelta(t, 0, math.Remainder(float64(b-a), 2*math.Pi), tolerance, what)
		}
		p, s, n := a.Positive(), a.Signed(), a.Near(about)
		congruent(p, "positive")
		congruent(s, "signed")
		congruent(n, "near")
		require.True(t, p >= 0 && p < 2*math.Pi)
		require.True(t, s > -math.Pi && s <= math.Pi)
		require.LessOrEqual(t, math.Abs(float64(n-about)), math.Pi+tolerance)
		for _, m := range geometry.Measures() {
			w := m.Range.Wrap(a)
			congruent(w, m.Name)
			require.True(t, m.Range.Contains(w), m.Name)
		}
	})
}

// Wrap maps both ends of a range to the end that belongs to the range.
func TestWrapAtTheEnds(t *testing.T) {
	for _, m := range geometry.Measures() {
		end := m.Range.High
		if m.Range.Contains(m.Range.Low) {
			end = m.Range.Low
		}
		for turns := geometry.Angle(-2); turns <= 2; turns++ {
			w := m.Range.Wrap(end + turns*360*deg)
			assert.True(t, m.Range.Contains(w), m.Name)
		}
		assert.Equal(t, end, m.Range.Wrap(m.Range.Low), m.Name)
		assert.Equal(t, end, m.Range.Wrap(m.Range.High), m.Name)
		assert.True(t, math.IsNaN(float64(m.Range.Wrap(geometry.Angle(math.NaN())))))
	}
}

func TestBetween(t *testing.T) {
	right, up, left := geometry.Vec{X: 1}, geometry.Vec{Y: 1}, geometry.Vec{X: -1}
	assert.Equal(t, 90*deg, geometry.Between(right, up))
	assert.Equal(t, -90*deg, geometry.Between(up, right))
	assert.Equal(t, 180*deg, geometry.Between(right, left))
	assert.Equal(t, 180*deg, geometry.Between(left, right), "not -180")
	assert.Equal(t, 180*deg, geometry.Between(right, geometry.Vec{X: -1, Y: -1e-300}), "-180 belongs to the range as 180")
	assert.Equal(t, geometry.Angle(1e-12), geometry.Between(right, geometry.Vec{X: 1, Y: 1e-12}), "small angles keep their digits")
	assert.True(t, math.IsNaN(float64(geometry.Between(right, geometry.Vec{}))))
	assert.True(t, math.IsNaN(float64(geometry.Between(right, geometry.Vec{X: math.NaN()}))))
}

func TestPlane(t *testing.T) {
	p, q := geometry.Point{X: 1, Y: 2}, geometry.Point{X: 4, Y: 6}
	l := geometry.Line{From: p, To: q}
	v := geometry.Vec{X: 3, Y: 4}
	assert.Equal(t, v, q.Sub(p))
	assert.Equal(t, q, p.Add(v))
	assert.Equal(t, geometry.Point{X: 2.5, Y: 4}, p.Mid(q))
	assert.Equal(t, v, l.Vec())
	assert.Equal(t, 5.0, l.Length())
	assert.Equal(t, geometry.Vec{X: 0.6, Y: 0.8}, v.Unit())
	assert.Equal(t, geometry.Vec{X: -4, Y: 3}, v.Perp())
	assert.Equal(t, 25.0, v.Cross(v.Perp()), "a quarter counter-clockwise")
	assert.Equal(t, 0.0, v.Dot(v.Perp()))
	assert.Equal(t, geometry.Vec{X: 4, Y: 4}, v.Add(geometry.Vec{X: 1}))
	assert.Equal(t, geometry.Vec{X: 2, Y: 4}, v.Sub(geometry.Vec{X: 1}))
	assert.Equal(t, geometry.Vec{X: 6, Y: 8}, v.Scale(2))
	assert.True(t, math.IsNaN(geometry.Vec{}.Unit().X))
}
