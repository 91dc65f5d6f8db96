package uncertainty

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// TestStudentFactors: NIST Technical Note 1297, table B.1, 95 % column.
func TestStudentFactors(t *testing.T) {
	const printed = 0.005 // half a unit in the last place printed
	for nu, want := range map[float64]float64{
		1: 12.71, 2: 4.30, 3: 3.18, 4: 2.78, 5: 2.57, 10: 2.23, 16: 2.12, 20: 2.09, 50: 2.01, math.Inf(1): 1.960,
	} {
		assert.InDelta(t, want, CoverageFactor(nu, 0.95), printed, "nu %v", nu)
	}
}

// endGauge is JCGM 100:2008, example H.1: the length of an end gauge in nm.
func endGauge() ([]Block, Model, []float64) {
	const ls = 50.000623e6 // nm
	student := func(name string, mean, u, nu float64) Block {
		b, err := NewStudent(name, []float64{mean}, mat.NewSymDense(1, []float64{u * u}), nu)
		if err != nil {
			panic(err)
		}
		return b
	}
	blocks := []Block{
		student("standard", ls, 25, 18),
		student("difference", 215, 9.7, 25.6),
		NewUniform("expansion", 11.5e-6-2e-6, 11.5e-6+2e-6), // u = 2/sqrt(3) = 1.2 as printed
		NewScalar("temperature", -0.1, 0.41),
		student("expansion difference", 0, 0.58e-6, 50),
		student("temperature difference", 0, 0.029, 2),
	}
	model := func(x []float64) float64 {
		ls, d, alpha, theta, da, dt := x[0], x[1], x[2], x[3], x[4], x[5]
		return ls + d - ls*(da*theta+alpha*dt)
	}
	// c_s = 1, c_d = 1, c_alpha = 0, c_theta = 0, c_da = -ls theta, c_dt = -ls alpha
	return blocks, model, []float64{1, 1, 0, 0, -ls * -0.1, -ls * 11.5e-6}
}

// TestEndGauge: JCGM 100:2008, H.1.6 and H.1.7. u_c = 32 nm (31.71 to more
// digits), effective degrees of freedom 16 (16.66 uncut), k99 2.92, U99 93 nm.
// With the terms of second order u is 34 nm (33.91): Monte Carlo must see them.
func TestEndGauge(t *testing.T) {
	blocks, model, g := endGauge()
	x := Means(blocks)
	p := FirstOrder(model(x), blocks, g, 0.99)
	assert.InDelta(t, 50.000838e6, p.Value, 0.5)
	assert.InDelta(t, 31.71, p.Standard, 0.01)
	assert.InDelta(t, 16.66, p.Freedom, 0.02) // from the printed inputs, themselves rounded
	assert.InDelta(t, 2.92, CoverageFactor(math.Floor(p.Freedom), 0.99), 0.02)
	assert.InDelta(t, 93, CoverageFactor(16, 0.99)*p.Standard, 1)

	// 33.91 is the standard deviation with inputs of the stated standard
	// uncertainties, so Student inputs are drawn as normal here.
	for i := range blocks {
		if blocks[i].Kind == Student {
			blocks[i].Kind = Normal
		}
	}
	d, err := MonteCarlo(blocks, model, Options{Seed: 1, Coverage: 0.99})
	require.NoError(t, err)
	const sampling = 0.15 // three times 33.9/sqrt(2*230000): the least number of draws the rule needs here
	assert.InDelta(t, 33.91, d.SD, sampling)
	assert.False(t, p.Agrees(d) && math.Abs(p.Standard-d.SD) < 1, "first order sees no second-order terms")
}

// TestSimultaneous: JCGM 100:2008, H.2: resistance, reactance and impedance
// from five joint observations of V, I and phi, correlated. Observations from
// memory; the printed results are reached to all printed digits.
func TestSimultaneous(t *testing.T) {
	V := []float64{5.007, 4.994, 5.005, 4.990, 4.999}
	I := []float64{19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3}
	F := []float64{1.0456, 1.0438, 1.0468, 1.0428, 1.0433}
	obs := mat.NewDense(5, 3, nil)
	obs.SetCol(0, V)
	obs.SetCol(1, I)
	obs.SetCol(2, F)
	var cov mat.SymDense
	stat.CovarianceMatrix(&cov, obs, nil)
	cov.ScaleSym(1.0/5, &cov)
	mean := []float64{stat.Mean(V, nil), stat.Mean(I, nil), stat.Mean(F, nil)}
	b, err := NewStudent("observed", mean, &cov, 4)
	require.NoError(t, err)
	v, i, f := mean[0], mean[1], mean[2]
	c, s := math.Cos(f), math.Sin(f)
	grads := [][]float64{{c / i, -v * c / i / i, -v * s / i}, {s / i, -v * s / i / i, v * c / i}, {1 / i, -v / i / i, 0}}
	values := []float64{v * c / i, v * s / i, v / i}
	const half = 0.001 // one unit of the last place printed: u(X) is 0.2956 from these observations and is printed 0.295
	for k, want := range []struct{ value, u float64 }{{127.732, 0.071}, {219.847, 0.295}, {254.260, 0.236}} {
		p := FirstOrder(values[k], []Block{b}, grads[k], 0.95)
		assert.InDelta(t, want.value, p.Value, half)
		assert.InDelta(t, want.u, p.Standard, half)
		assert.InDelta(t, 4, p.Freedom, 1e-9) // one block: its own degrees of freedom
	}
	cross := func(a, b []float64) float64 {
		va, vb := mat.NewVecDense(3, a), mat.NewVecDense(3, b)
		return mat.Inner(va, &cov, vb) / math.Sqrt(mat.Inner(va, &cov, va)*mat.Inner(vb, &cov, vb))
	}
	assert.InDelta(t, -0.588, cross(grads[0], grads[1]), half)
	assert.InDelta(t, -0.485, cross(grads[0], grads[2]), half)
	assert.InDelta(t, 0.993, cross(grads[1], grads[2]), half)
}

// TestRectangulars: JCGM 101:2008, 9.2.3 and 9.2.4: the sum of four
// rectangular inputs. Unit variances: 95 % within +-3.88 (exactly
// 2 sqrt(3) (2 - (3/5)^(1/4)) = 3.8794), where first order says 3.92. The
// fourth with standard deviation 10: +-17.0 against 19.9.
func TestRectangulars(t *testing.T) {
	sum := func(x []float64) float64 { return x[0] + x[1] + x[2] + x[3] }
	one := func(sd float64) Block { return NewUniform("x", -sd*math.Sqrt(3), sd*math.Sqrt(3)) }
	ones := []float64{1, 1, 1, 1}
	for _, c := range []struct{ last, ends, first, near float64 }{
		{1, 2 * math.Sqrt(3) * (2 - math.Pow(3.0/5, 0.25)), 3.92, 0.01},
		{10, 17.0, 19.9, 0.05}, // 17.0 as printed
	} {
		blocks := []Block{one(1), one(1), one(1), one(c.last)}
		d, err := MonteCarlo(blocks, sum, Options{Seed: 7, Tolerance: c.near / 2, MaxDraws: 4_000_000})
		require.NoError(t, err)
		require.True(t, d.Stable)
		assert.InDelta(t, -c.ends, d.Low, c.near)
		assert.InDelta(t, c.ends, d.High, c.near)
		p := FirstOrder(0, blocks, ones, 0.95)
		assert.InDelta(t, c.first, p.Expanded, 0.05)
	}
}

// TestConformity: JCGM 106:2012, 7.4 (two limits) and 7.3 (one limit), normal.
func TestConformity(t *testing.T) {
	for _, c := range []struct{ y, u, low, high, want float64 }{
		{13.6, 1.8, 12.5, 16.3, 0.66263},
		{-5.47, 0.05, math.Inf(-1), -5.40, 0.91924},
		{509.7, 8.6, 490, math.Inf(1), 0.98901},
	} {
		d, err := MonteCarlo([]Block{NewScalar("y", c.y, c.u)}, func(x []float64) float64 { return x[0] }, Options{Seed: 3, Tolerance: c.u / 1000})
		require.NoError(t, err)
		n := float64(len(d.Values))
		sampling := 4 * math.Sqrt(c.want*(1-c.want)/n) // four binomial standard deviations
		assert.InDelta(t, c.want, d.Probability(c.low, c.high, nil), sampling)
	}
	assert.Equal(t, Conforms, Decide(0.95, 0.95))
	assert.Equal(t, Fails, Decide(0.05, 0.95))
	assert.Equal(t, Undecided, Decide(0.94, 0.95))
	// a limit 3.29 away is passed with 95 % confidence, one-sided, by u = 3.29/1.645
	assert.InDelta(t, 2.0, NeededStandard(3.29, 0.95), 0.001)
}
