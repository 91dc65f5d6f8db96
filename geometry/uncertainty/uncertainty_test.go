package uncertainty

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"
)

func identity(x []float64) float64 { return x[0] }

func TestSameSeedSameDrawsOnAnyMachine(t *testing.T) {
	b := []Block{NewScalar("a", 1, 2), NewUniform("b", 0, 1)}
	run := func(cores int) Distribution {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		d, err := MonteCarlo(b, func(x []float64) float64 { return x[0] * x[1] }, Options{Seed: 5})
		require.NoError(t, err)
		return d
	}
	one, four := run(1), run(4)
	assert.Equal(t, one.Low, four.Low)
	assert.Equal(t, one.High, four.High)
	assert.Equal(t, len(one.Values), len(four.Values))
	assert.InDelta(t, one.Mean, four.Mean, 1e-12) // the sum runs in another order
	other, err := MonteCarlo(b, func(x []float64) float64 { return x[0] * x[1] }, Options{Seed: 6})
	require.NoError(t, err)
	assert.NotEqual(t, one.Low, other.Low)
}

// The ends scatter over seeds by no more than the stopping rule allows: 2 s <= tolerance.
func TestStoppingRule(t *testing.T) {
	const tolerance = 0.05
	var lows []float64
	for seed := range uint64(60) {
		d, err := MonteCarlo([]Block{NewScalar("a", 0, 3)}, identity, Options{Seed: seed, Tolerance: tolerance})
		require.NoError(t, err)
		require.True(t, d.Stable)
		lows = append(lows, d.Low)
	}
	// sd of 60 normal values is within 1.3 of its expectation in 99.9 % of cases (chi-squared)
	assert.Less(t, stat.StdDev(lows, nil), 1.3*tolerance/2)
	assert.InDelta(t, -3*1.959964, stat.Mean(lows, nil), 0.02)
}

func TestUnstableIsReported(t *testing.T) {
	d, err := MonteCarlo([]Block{NewScalar("a", 0, 300)}, identity, Options{Tolerance: 0.05, MaxDraws: 100_000})
	require.NoError(t, err)
	assert.False(t, d.Stable)
	assert.Len(t, d.Values, 100_000/batchSize*batchSize)
}

func TestNotFinite(t *testing.T) {
	_, err := MonteCarlo([]Block{NewScalar("a", 0, 1)}, func(x []float64) float64 { return math.Sqrt(x[0]) }, Options{})
	assert.ErrorIs(t, err, ErrNotFinite)
	_, err = Budget([]Block{NewScalar("a", 0, 1)}, func(x []float64) float64 { return 1 / math.Min(x[0], 0) }, Distribution{SD: 1}, 1)
	assert.ErrorIs(t, err, ErrNotFinite)
}

// Draws have the block's covariance, a singular one too; for Student it is multiplied by nu/(nu-2).
func TestDrawsHaveTheirCovariance(t *testing.T) {
	cov := mat.NewSymDense(2, []float64{4, 2, 2, 1}) // rank one
	for _, nu := range []float64{math.Inf(1), 6} {
		b, err := NewStudent("a", []float64{1, -1}, cov, nu)
		require.NoError(t, err)
		d := newDrawer([]Block{b})
		d.seed(1, 1)
		const n = 200_000
		x0, x1 := make([]float64, n), make([]float64, n)
		x := make([]float64, 2)
		for i := range n {
			d.draw(x)
			x0[i], x1[i] = x[0], x[1]
		}
		wide := 1.0
		if !math.IsInf(nu, 1) {
			wide = nu / (nu - 2)
		}
		const sampling = 0.03 // some four standard deviations of a variance from n draws with t(6) tails
		assert.InEpsilon(t, 4*wide, stat.Variance(x0, nil), sampling)
		assert.InEpsilon(t, 2*wide, stat.Covariance(x0, x1, nil), sampling)
		for i := range n {
			require.InDelta(t, x1[i]+1, (x0[i]-1)/2, 1e-6) // a covariance of rank one: all draws lie on a line
		}
	}
}

func TestBlocksRefuse(t *testing.T) {
	_, err := NewNormal("a", []float64{0, 0}, mat.NewSymDense(2, []float64{1, 2, 2, 1}))
	assert.ErrorContains(t, err, "not positive")
	_, err = NewNormal("a", []float64{0}, mat.NewSymDense(1, []float64{math.NaN()}))
	assert.ErrorContains(t, err, "not a number")
	_, err = NewNormal("a", []float64{0}, mat.NewSymDense(1, []float64{-1}))
	assert.ErrorContains(t, err, "negative")
	_, err = NewNormal("a", []float64{0}, mat.NewSymDense(2, nil))
	assert.Error(t, err)
	_, err = NewStudent("a", []float64{0}, mat.NewSymDense(1, []float64{1}), 0)
	assert.Error(t, err)
}

// For a linear model first order, Monte Carlo and the budget agree.
func TestLinearModelAllAgree(t *testing.T) {
	b2, err := NewNormal("pair", []float64{1, 2}, mat.NewSymDense(2, []float64{1, 0.5, 0.5, 2}))
	require.NoError(t, err)
	blocks := []Block{b2, NewScalar("single", 3, 2)}
	g := []float64{1, -2, 0.5}
	model := func(x []float64) float64 { return g[0]*x[0] + g[1]*x[1] + g[2]*x[2] }
	p := FirstOrder(model(Means(blocks)), blocks, g, 0.95)
	u2 := 1.0 + 4*2 - 2*2*0.5 + 0.25*4 // by hand
	assert.InDelta(t, math.Sqrt(u2), p.Standard, 1e-12)
	assert.True(t, math.IsInf(p.Freedom, 1))
	d, err := MonteCarlo(blocks, model, Options{Seed: 9})
	require.NoError(t, err)
	assert.InEpsilon(t, p.Standard, d.SD, 0.01)
	assert.True(t, p.Agrees(d))
	rows, err := Budget(blocks, model, d, 9)
	require.NoError(t, err)
	require.Len(t, rows, 3)
	assert.Equal(t, []string{"pair", "single", Interaction}, []string{rows[0].Source, rows[1].Source, rows[2].Source})
	assert.InEpsilon(t, math.Sqrt(7), rows[0].Standard, 0.02)
	assert.InEpsilon(t, 1, rows[1].Standard, 0.02)
	assert.InDelta(t, 0, rows[2].Share, 0.03) // linear: no interaction
	assert.InDelta(t, 1, rows[0].Share+rows[1].Share+rows[2].Share, 1e-12)
}

// The variance of x*y about zero is all interaction: each input alone gives none.
func TestInteractionHasItsRow(t *testing.T) {
	blocks := []Block{NewScalar("x", 0, 1), NewScalar("y", 0, 1)}
	model := func(x []float64) float64 { return x[0] * x[1] }
	d, err := MonteCarlo(blocks, model, Options{Seed: 2})
	require.NoError(t, err)
	rows, err := Budget(blocks, model, d, 2)
	require.NoError(t, err)
	assert.InDelta(t, 1, rows[2].Share, 1e-9)
	assert.False(t, FirstOrder(0, blocks, []float64{0, 0}, 0.95).Agrees(d))
}

func TestIntervalIsThatOfASort(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-5, 5), 1, 300).Draw(t, "v")
		if rapid.Bool().Draw(t, "ties") {
			for i := range v {
				v[i] = math.Round(v[i])
			}
		}
		sorted := slices.Clone(v)
		slices.Sort(sorted)
		for k := range v {
			if got := selectAt(slices.Clone(v), k); got != sorted[k] {
				t.Fatalf("select %d of %v: %v", k, v, got)
			}
		}
		low, high := interval(v, 0.95)
		in := 0
		for _, x := range v {
			if x >= low && x <= high {
				in++
			}
		}
		if float64(in) < 0.95*float64(len(v))-1 {
			t.Fatalf("interval holds %d of %d", in, len(v))
		}
	})
	v := make([]float64, 10_000)
	for i := range v {
		v[i] = float64(i + 1)
	}
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(v), func(i, j int) { v[i], v[j] = v[j], v[i] })
	low, high := interval(v, 0.95)
	// JCGM 101:2008, 7.7.2: q = 9500, r = 250: [y_(250), y_(9750)]
	assert.Equal(t, []float64{250, 9750}, []float64{low, high})
}

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		value, u     float64
		wantV, wantU string
	}{
		{162.437, 3.1, "162.4", "3.1"},
		{162.437, 3.1001, "162.4", "3.2"}, // up, not to the nearest
		{10.05762, 0.0271, "10.058", "0.028"},
		{10.05762, 0.0995, "10.06", "0.10"},
		{180, 12.01, "180", "13"},
		{180, 9.96, "180", "10"},
		{179.96, 9.9, "180.0", "9.9"},
		{1234, 345, "1230", "350"},
		{-0.01, 1.2, "0.0", "1.2"},
		{-4.26, 1.2, "-4.3", "1.2"},
		{162.437, math.NaN(), "162", "?"},
		{math.NaN(), 1, "?", "?"},
		{1.5, 0, "1.5", "0"},
	} {
		v, u := Format(c.value, c.u)
		assert.Equal(t, []string{c.wantV, c.wantU}, []string{v, u}, "%v %v", c.value, c.u)
	}
}

func TestDrawingAllocatesNothing(t *testing.T) {
	blocks, model, _ := endGauge()
	d := newDrawer(blocks)
	d.seed(1, 1)
	x := Means(blocks)
	var sink float64
	assert.Zero(t, testing.AllocsPerRun(1000, func() { d.draw(x); sink += model(x) }))
}
