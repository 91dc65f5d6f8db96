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

// noVariation is for points that vary by their stated errors alone.
var noVariation = variation{{weight: 1}}

// digits is for figures that are certified to 15: nine of them have to agree.
const digits = 1e-9

// fitLine fits y = b0 + b1 x with standard deviations.
func fitLine(t testing.TB, x, y, sd []float64) *fitted {
	n := len(x)
	m, own := mat.NewDense(n, 2, nil), mat.NewSymDense(n, nil)
	for i := range n {
		m.SetRow(i, []float64{1, x[i]})
		own.SetSym(i, i, sd[i]*sd[i])
	}
	f, ok := fit(m, points{y: y, own: own, shared: mat.NewSymDense(n, nil)}, noVariation, 0.95)
	require.True(t, ok)
	return f
}

// covariance of the two coefficients, from the variance of their sum.
func covariance(f *fitted) float64 {
	a, b, sum := f.sd(1, 0), f.sd(0, 1), f.sd(1, 1)
	return (sum*sum - a*a - b*b) / 2
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

// With the certified residual standard deviation as each point's own uncertainty the
// standard deviations of the coefficients are the certified ones, and chi-squared is
// the degrees of freedom.
func TestNorris(t *testing.T) {
	x, y := norrisPairs()
	const residual = 0.884796396144373
	f := fitLine(t, x, y, ones(len(x), residual))
	assert.Equal(t, 34.0, f.freedom)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"B0", f.b[0], -0.262323073774029},
		{"B1", f.b[1], 1.00211681802045},
		{"sd of B0", f.sd(1, 0), 0.232818234301152},
		{"sd of B1", f.sd(0, 1), 0.429796848199937e-3},
		{"residual sd", residual * math.Sqrt(f.chi2/f.freedom), residual},
	} {
		assert.InEpsilon(t, c.want, c.got, digits, c.name)
	}
}

func norrisPairs() (x, y []float64) {
	for _, p := range norris {
		x, y = append(x, p[0]), append(y, p[1])
	}
	return x, y
}

// Points that scatter less than is stated make nothing surer: constant errors do not
// scatter. The standard deviation of the slope is at least that of the stated
// uncertainty, with a prior for what varies or without.
func TestSmallScatterShrinksNothing(t *testing.T) {
	x, y := norrisPairs()
	const stated = 40
	certified := 0.429796848199937e-3 / 0.884796396144373 // a point's uncertainty of 1
	assert.InEpsilon(t, certified*stated, fitLine(t, x, y, ones(len(x), stated)).sd(0, 1), digits)
	assert.Greater(t, fitWithVariation(t, x, y, stated, 7.5).sd(0, 1), certified*stated)
}

// fitWithVariation fits a line to points whose standard deviation beyond the stated is uniform up to most.
func fitWithVariation(t testing.TB, x, y []float64, stated, most float64) *fitted {
	n := len(x)
	m, own := mat.NewDense(n, 2, nil), mat.NewSymDense(n, nil)
	for i := range n {
		m.SetRow(i, []float64{1, x[i]})
		own.SetSym(i, i, stated*stated)
	}
	f, ok := fit(m, points{y: y, own: own, shared: mat.NewSymDense(n, nil)}, uniform(0, most), 0.95)
	require.True(t, ok)
	return f
}

// With next to nothing stated, the variation is estimated from the points alone: the interval of the slope
// is the classical one with Student's t of n - 2 degrees of freedom, from the certified
// standard deviation. t is 2.032 for 34 (any table: 2.042 for 30, 2.021 for 40).
func TestVariationIsLearnt(t *testing.T) {
	x, y := norrisPairs()
	f := fitWithVariation(t, x, y, 1e-6, 7.5)
	assert.InEpsilon(t, 2.0322*0.429796848199937e-3, f.half(0, 1), 2e-3)
	i := f.extra.interval(0.95)
	assert.Less(t, i[0], 0.8848)
	assert.Greater(t, i[1], 0.8848)
}

// Of few points too it is Student's t and no more: 2.571 for 5 degrees of freedom, 3.182
// for 3 (any table). The grid of standard deviations is good to 2 %.
func TestFewPointsMakeStudentsT(t *testing.T) {
	for freedom, student := range map[int]float64{3: 3.182, 5: 2.571} {
		var x, y []float64
		for i := range freedom + 2 {
			x, y = append(x, float64(i)), append(y, 160+float64(i)+math.Sin(float64(5*i*i)))
		}
		f := fitWithVariation(t, x, y, 1e-6, 20)
		alone := fitLine(t, x, y, ones(len(x), 1))
		classical := math.Sqrt(alone.chi2/alone.freedom) * alone.sd(0, 1)
		assert.InEpsilon(t, student*classical, f.half(0, 1), 0.02, freedom)
		classical = math.Sqrt(alone.chi2/alone.freedom) * alone.sd(1, x[len(x)-1])
		assert.InEpsilon(t, student*classical, f.half(1, x[len(x)-1]), 0.02, freedom)
	}
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
	f := fitLine(t, x, b, ones(len(x), 0.0035)) // the guide's own scatter about the line (H.3.3, from memory)
	assert.InDelta(t, -0.1712, f.b[0], 0.00005)
	assert.InDelta(t, 0.0029, f.sd(1, 0), 0.00005)
	assert.InDelta(t, 0.00218, f.b[1], 0.000005)
	assert.InDelta(t, 0.00067, f.sd(0, 1), 0.000005)
	r := covariance(f) / f.sd(1, 0) / f.sd(0, 1)
	assert.InDelta(t, -0.93, r, 0.005)
	assert.InDelta(t, -0.1494, f.b[0]+10*f.b[1], 0.00005)
	assert.InDelta(t, 0.0041, f.sd(1, 10), 0.00005)
}

// sameBits is the relative difference allowed between two ways to compute the same sums.
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
		s, ok := gls(m, points{y: y, own: own, shared: mat.NewSymDense(n, nil)}, 0)
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
	s, ok := gls(x, points{y: y, own: own, shared: shared}, 0)
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
	alone, ok := fit(x, points{y: y, own: own, shared: mat.NewSymDense(n, nil)}, noVariation, 0.95)
	require.True(t, ok)
	f, ok := fit(x, points{y: y, own: own, shared: all}, noVariation, 0.95)
	require.True(t, ok)
	assert.InEpsilon(t, alone.half(0, 1), f.half(0, 1), 1e-6)
	assert.InEpsilon(t, math.Hypot(alone.sd(1, 5.5), 3), f.sd(1, 5.5), 1e-6, "the height has the 3 degrees beside")
}
