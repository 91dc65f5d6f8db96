package draw

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/cmd/internal/reading"
)

// The ellipse contains 95 % of draws from the mark's normal distribution.
func TestEllipseHolds95Percent(t *testing.T) {
	const n = 200_000
	const tol = 4 * 0.00049 // four standard deviations of a share: sqrt(0.95 * 0.05 / n)
	for _, cov := range [][2][2]float64{{{4, 0}, {0, 4}}, {{9, 2.5}, {2.5, 1}}, {{1, -1.8}, {-1.8, 16}}} {
		e, err := EllipseOf(reading.Mark{Covariance: cov})
		require.NoError(t, err)
		rnd := rand.New(rand.NewPCG(1, 2))
		// Cholesky factor of the covariance.
		a := math.Sqrt(cov[0][0])
		b := cov[0][1] / a
		c := math.Sqrt(cov[1][1] - b*b)
		in := 0
		sin, cos := math.Sincos(e.Tilt)
		for range n {
			u, v := rnd.NormFloat64(), rnd.NormFloat64()
			x, y := a*u, b*u+c*v
			p, q := (x*cos+y*sin)/e.Long, (y*cos-x*sin)/e.Short
			if p*p+q*q <= 1 {
				in++
			}
		}
		assert.InDelta(t, 0.95, float64(in)/n, tol, "covariance %v", cov)
	}
}

// seen keeps 0 and 180 degrees, maps the measured angle to that of the picture, and is
// monotonic.
func TestSeen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		angle := rapid.Float64Range(-40, 230).Draw(t, "angle")
		off := rapid.Float64Range(-12, 12).Draw(t, "off")
		r := &reading.Reading{AngleDeg: angle}
		f := Fan{Sweep: angle + off}
		if got := f.seen(r, angle); math.Abs(got-f.Sweep) > 1e-9 {
			t.Fatalf("the measured angle looks like %g, not %g", got, f.Sweep)
		}
		for _, straight := range []float64{-180, 0, 180, 360} {
			if math.Abs(angle-straight) < 3*math.Abs(off) {
				continue
			}
			if got := f.seen(r, straight); math.Abs(got-straight) > 1e-9 {
				t.Fatalf("%g looks like %g", straight, got)
			}
			if math.Abs(straight-angle) >= 180 {
				continue
			}
			half := (straight + angle) / 2
			if got := f.seen(r, half); math.Abs(got-half-off/2) > 1e-9 {
				t.Fatalf("halfway from %g to %g half of %g is left, and %g looks like %g", angle, straight, off, half, got)
			}
		}
		last := math.Inf(-1)
		for d := -90.0; d < 300; d += 0.5 {
			v := f.seen(r, d)
			if v < last {
				t.Fatalf("seen decreases at %g", d)
			}
			last = v
		}
	})
}
