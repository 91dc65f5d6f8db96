package change

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// NIST Statistical Reference Datasets, SiRstv, one-way analysis of variance: the
// resistivity of silicon by five instruments. The data and the certified values are
// from memory; that they belong together is seen by nine digits agreeing.
func TestSiRstv(t *testing.T) {
	a := oneWay([][]float64{
		{196.3052, 196.1240, 196.1890, 196.2569, 196.3403},
		{196.3042, 196.3825, 196.1669, 196.3257, 196.0422},
		{196.1303, 196.2005, 196.2889, 196.0343, 196.1811},
		{196.2795, 196.1748, 196.1494, 196.1485, 195.9885},
		{196.2119, 196.1051, 196.1850, 196.0052, 196.2090},
	}, nil)
	assert.Equal(t, []int{4, 20}, []int{a.between, a.within})
	assert.InEpsilon(t, 5.11462616000000e-02, a.squaresBetween, digits)
	assert.InEpsilon(t, 2.16636560000000e-01, a.squaresWithin, digits)
	assert.InEpsilon(t, 1.18046237440255e+00, a.f(), digits)
	assert.InEpsilon(t, 25-5.0, a.size, digits, "the size of the groups times their degrees of freedom")
}

// With groups of unlike size, and with a line through them, what is found is right
// on average: within and between of 2 and 3 degrees, over 4,000 athletes.
func TestComponentsAreRightOnAverage(t *testing.T) {
	const athletes, within, between = 4000, 2.0, 3.0
	rnd := rand.New(rand.NewPCG(5, 5))
	for _, slope := range []bool{false, true} {
		var times []float64
		var squares, w float64
		for range athletes {
			var groups [][]float64
			times = nil
			for d := range 7 {
				day := between * rnd.NormFloat64()
				if slope {
					day += 4 * float64(d)
				}
				var g []float64
				for range 1 + d%3 {
					g = append(g, 160+day+within*rnd.NormFloat64())
				}
				groups = append(groups, g)
				times = append(times, float64(d))
			}
			if !slope {
				times = nil
			}
			a := oneWay(groups, times)
			w += a.meanWithin() / athletes
			squares += (a.squaresBetween - float64(a.between)*a.meanWithin()) / a.size / athletes // not cut off at 0
		}
		// a mean of 4,000 variances with 5 or 6 degrees of freedom, their scatter
		// being some 70 % of them, is good to 1.1 %; four times that
		assert.InEpsilon(t, between*between, squares, 0.045)
		assert.InEpsilon(t, within*within, w, 0.045)
	}
}

func TestDayToDay(t *testing.T) {
	// by hand: two takes on each of three days, differing by 2, so that the variance
	// within is 2; day means 160, 166, 163, whose variance is 9: between 9 - 2/2
	got := estimateDayToDay(series(1, 1, 159, 1, 161, 8, 165, 8, 167, 15, 162, 15, 164), 0.95)
	require.True(t, got.Known)
	assert.InDelta(t, math.Sqrt2, got.WithinDeg, 1e-12)
	assert.InDelta(t, math.Sqrt(8), got.BetweenDeg, 1e-12)
	assert.InDelta(t, 9.0, got.F, 1e-12)
	assert.False(t, got.AboutLine)
	// chi-squared with 3 degrees of freedom: 0.216 and 9.348 (any table)
	assert.InDelta(t, math.Sqrt(6/9.348), got.WithinInterval[0], 0.001)
	assert.InDelta(t, math.Sqrt(6/0.2158), got.WithinInterval[1], 0.001)

	said, err := NewTrend(series(1, 1, 159, 1, 161, 8, 165, 8, 167, 15, 162, 15, 164), Options{})
	require.NoError(t, err)
	assert.Contains(t, said.Notes[0], "from three days of this athlete and published studies; it is part of every difference between days")

	// months of gain are no scatter
	steady := estimateDayToDay(series(1, 1, 159, 1, 161, 31, 164, 31, 166, 61, 169, 61, 171, 91, 174, 91, 176), 0.95)
	assert.True(t, steady.AboutLine)
	assert.Zero(t, steady.BetweenDeg)

	for _, rs := range [][]Reading{series(1, 1, 160), series(1, 1, 160, 8, 161, 15, 160.5), series(1, 1, 160, 1, 161), series(1, 1, 160, 1, 160, 8, 160, 8, 160)} {
		got := estimateDayToDay(rs, 0.95)
		assert.False(t, got.Known)
		assert.NotEmpty(t, got.Why)
	}
	one, err := NewTrend(series(1, 1, 160), Options{})
	require.NoError(t, err)
	assert.Contains(t, one.DayToDay.Elsewhere[0].Source, "Kolber 2011", "a published figure stands beside what is not known")
}

// A published SEM of 12.3 degrees makes a smallest change of 34 (Dougherty 2015, J
// Manipulative Physiol Ther 38:218, seen; the second figure computed).
func TestPublishedFiguresBelongTogether(t *testing.T) {
	assert.InDelta(t, 34, smallestReal(12.3), 0.5)
}
