package change

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// digits is for figures that are certified to 15: nine of them have to agree.
const digits = 1e-9

// line fits y = b0 + b1 x with standard deviations.
func line(t testing.TB, x, y, sd []float64) *fitted {
	n := len(x)
	m, own := mat.NewDense(n, 2, nil), mat.NewSymDense(n, nil)
	for i := range n {
		m.SetRow(i, []float64{1, x[i]})
		own.SetSym(i, i, sd[i]*sd[i])
	}
	f, ok := fit(m, y, own, mat.NewSymDense(n, nil), 0.95)
	require.True(t, ok)
	return f
}

func ones(n int, v float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}

// NIST Statistical Reference Datasets, Norris, linear regression: x, y. The pairs
// are from memory; that they are right is seen by the certified values.
var norris = [][2]float64{
	{0.2, 0.1}, {337.4, 338.8}, {118.2, 118.1}, {884.6, 888.0}, {10.1, 9.2}, {226.5, 228.1}, {666.3, 668.5}, {996.3, 998.5}, {448.6, 449.1},
	{777.0, 778.9}, {558.2, 559.2}, {0.4, 0.3}, {0.6, 0.1}, {775.5, 778.1}, {666.9, 668.8}, {338.0, 339.3}, {447.5, 448.9}, {11.6, 10.8},
	{556.0, 557.7}, {228.1, 228.3}, {995.8, 998.0}, {887.6, 888.8}, {120.2, 119.6}, {0.3, 0.3}, {0.3, 0.6}, {556.8, 557.6}, {339.1, 339.3},
	{887.2, 888.0}, {999.0, 998.5}, {779.0, 778.9}, {11.1, 10.2}, {118.3, 117.6}, {229.2, 228.9}, {669.1, 668.4}, {448.9, 449.2}, {0.5, 0.2},
}

// Whatever uncertainty is stated, too small or too large, the scatter decides: so
// that the standard deviations of the coefficients are the certified ones.
func TestNorris(t *testing.T) {
	var x, y []float64
	for _, p := range norris {
		x, y = append(x, p[0]), append(y, p[1])
	}
	for _, stated := range []float64{0.05, 0.884796396144373, 1} {
		f := line(t, x, y, ones(len(x), stated))
		assert.Equal(t, 34.0, f.freedom)
		for _, c := range []struct {
			name      string
			got, want float64
		}{
			{"B0", f.b[0], -0.262323073774029},
			{"B1", f.b[1], 1.00211681802045},
			{"sd of B0", f.sd(1, 0), 0.232818234301152},
			{"sd of B1", f.sd(0, 1), 0.429796848199937e-3},
			{"residual sd", stated * math.Sqrt(f.chi2/f.freedom), 0.884796396144373},
		} {
			assert.InEpsilon(t, c.want, c.got, digits, "%s, stated %g", c.name, stated)
		}
	}
}

// A scatter far below what was stated is not believed: the scale stays at what one
// set in a thousand is below, chi-squared of 14.06 with 34 degrees of freedom (any
// table), so that the band is 0.643 times what is stated.
func TestTooLittleScatter(t *testing.T) {
	var x, y []float64
	for _, p := range norris {
		x, y = append(x, p[0]), append(y, p[1])
	}
	f := line(t, x, y, ones(len(x), 40))
	assert.InDelta(t, 14.06/34, f.scale, 0.0002)
	one := line(t, x, y, ones(len(x), 1))
	assert.InEpsilon(t, one.sd(0, 1)*40*math.Sqrt(f.scale/one.scale), f.sd(0, 1), digits)
}

// JCGM 100:2008, H.3: the calibration line of a thermometer. The figures have the
// digits that the guide prints.
func TestThermometer(t *testing.T) {
	at := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	b := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	var x []float64
	for _, v := range at {
		x = append(x, v-20)
	}
	f := line(t, x, b, ones(len(x), 0.003))
	assert.InDelta(t, -0.1712, f.b[0], 0.00005)
	assert.InDelta(t, 0.0029, f.sd(1, 0), 0.00005)
	assert.InDelta(t, 0.00218, f.b[1], 0.000005)
	assert.InDelta(t, 0.00067, f.sd(0, 1), 0.000005)
	r := f.standard.At(0, 1) / f.sd(1, 0) / f.sd(0, 1)
	assert.InDelta(t, -0.93, r, 0.005)
	assert.InDelta(t, -0.1494, f.b[0]+10*f.b[1], 0.00005)
	assert.InDelta(t, 0.0041, f.sd(1, 10), 0.00005)
}

// sameBits is what two ways through the same sums may differ by.
const sameBits = 1e-10

// The weighted line against gonum's own, which takes sums, and against the normal
// equations written out; this package goes by QR.
func TestWeightedLineAgainstOthers(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		n := 3 + rnd.IntN(20)
		x, y, sd, w := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
		own := mat.NewSymDense(n, nil)
		m := mat.NewDense(n, 2, nil)
		for i := range n {
			x[i], sd[i] = 12*rnd.Float64(), 0.5+4*rnd.Float64()
			y[i] = 150 + 1.5*x[i] + sd[i]*rnd.NormFloat64()
			w[i] = 1 / sd[i] / sd[i]
			own.SetSym(i, i, sd[i]*sd[i])
			m.SetRow(i, []float64{1, x[i]})
		}
		s, ok := gls(m, y, own, mat.NewSymDense(n, nil), 1, 0, true)
		require.True(t, ok)
		alpha, beta := stat.LinearRegression(x, y, w, false)
		assert.InEpsilon(t, alpha, s.b[0], sameBits)
		assert.InEpsilon(t, beta, s.b[1], sameBits)

		var sw, sx, sxx, sy, sxy float64
		for i := range n {
			sw, sx, sxx, sy, sxy = sw+w[i], sx+w[i]*x[i], sxx+w[i]*x[i]*x[i], sy+w[i]*y[i], sxy+w[i]*x[i]*y[i]
		}
		d := sw*sxx - sx*sx
		assert.InEpsilon(t, (sw*sxy-sx*sy)/d, s.b[1], sameBits)
		cov := sandwich(s.by, own)
		assert.InEpsilon(t, sw/d, cov.At(1, 1), sameBits, "variance of the slope")
		assert.InEpsilon(t, sxx/d, cov.At(0, 0), sameBits, "variance of the intercept")
		assert.InEpsilon(t, -sx/d, cov.At(0, 1), sameBits)
	}
}

// With what is shared in, against the textbook's (X'V^-1X)^-1 X'V^-1 y.
func TestSharedErrorsAgainstTheFormula(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	n := 12
	own, shared, v := mat.NewSymDense(n, nil), mat.NewSymDense(n, nil), mat.NewSymDense(n, nil)
	x, y := mat.NewDense(n, 2, nil), make([]float64, n)
	for i := range n {
		own.SetSym(i, i, 1+rnd.Float64())
		x.SetRow(i, []float64{1, float64(i)})
		y[i] = 160 + 0.8*float64(i) + 2*rnd.NormFloat64()
		for j := range i + 1 {
			if i%3 == j%3 { // three set-ups
				shared.SetSym(i, j, 1.7)
			}
		}
	}
	v.AddSym(own, shared)
	s, ok := gls(x, y, own, shared, 1, 0, true)
	require.True(t, ok)
	var vi, a, ab, cov, b mat.Dense
	require.NoError(t, vi.Inverse(v))
	a.Mul(x.T(), &vi)
	ab.Mul(&a, x)
	require.NoError(t, cov.Inverse(&ab))
	b.Mul(&a, mat.NewVecDense(n, y))
	b.Mul(&cov, &b)
	got := sandwich(s.by, v)
	for i := range 2 {
		assert.InEpsilon(t, b.At(i, 0), s.b[i], sameBits)
		for j := range 2 {
			assert.InEpsilon(t, cov.At(i, j), got.At(i, j), sameBits)
		}
	}
	// an error that all have in common moves the line and not its slope
	all := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			all.SetSym(i, j, 9)
		}
	}
	alone, ok := fit(x, y, own, mat.NewSymDense(n, nil), 0.95)
	require.True(t, ok)
	f, ok := fit(x, y, own, all, 0.95)
	require.True(t, ok)
	assert.InEpsilon(t, alone.half(0, 1), f.half(0, 1), 1e-6)
	assert.InEpsilon(t, math.Hypot(alone.sd(1, 5.5), 3), f.sd(1, 5.5), 1e-6, "the height has the 3 degrees beside")
}
