package draw

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
)

// normal returns a normal density within five standard deviations, in bins of a
// twentieth of a standard deviation.
func normal(mean, sd float64) reading.Density {
	d := reading.Density{FromDeg: mean - 5*sd, StepDeg: sd / 20}
	for i := range 200 {
		z := -5 + (float64(i)+0.5)/20
		d.Values = append(d.Values, math.Exp(-z*z/2))
	}
	return d
}

// A normal distribution has 99.9 % within 3.29 standard deviations (its quantile at
// 0.9995).
func TestBulk(t *testing.T) {
	from, to := Bulk(normal(160, 2))
	const bin = 0.1 // the ends are those of bins
	assert.InDelta(t, 160-3.29*2, from, bin)
	assert.InDelta(t, 160+3.29*2, to, bin)
	from, to = Bulk(reading.Density{})
	assert.True(t, math.IsNaN(from) && math.IsNaN(to))
}

// Smoothing evens out alternating bins, keeps the sum, and widens the density by about 1 %
// at most.
func TestSmooth(t *testing.T) {
	const widest = 1.011 // 1 %, and 0.1 % for the cut tails
	moments := func(values []float64) (sum, sd float64) {
		mean, square := 0.0, 0.0
		for i, v := range values {
			sum, mean, square = sum+v, mean+v*float64(i), square+v*float64(i)*float64(i)
		}
		return sum, math.Sqrt(square/sum - mean/sum*mean/sum)
	}
	d := normal(160, 2)
	for i := range d.Values {
		d.Values[i] *= 1 + 0.2*float64(i%2)
	}
	sum, sd := moments(d.Values)
	s := smooth(d)
	after, wide := moments(s)
	assert.InEpsilon(t, sum, after, 1e-6, "the loss at the ends is of the order of the tails")
	assert.LessOrEqual(t, wide/sd, widest)
	const lower = 0.02 // a density wider by 1 % is lower by 1 % at its peak; as much again for the rest
	for i, v := range normal(160, 2).Values {
		if i >= 80 && i < 120 {
			assert.InEpsilon(t, 1.1*v, s[i], lower, "bin %d is not between its teeth of 0 and a fifth", i)
		}
	}
	assert.Equal(t, []float64{0, 0}, smooth(reading.Density{Values: []float64{0, 0}}))
}

// The outline stands on its base, has the given height at the peak of the density, and
// Top returns its edge.
func TestOutline(t *testing.T) {
	k := Scale{From: 150, To: 170, A: 10, B: 210}
	pts := Outline(normal(160, 2), k, 1, 100, 40)
	require.NotEmpty(t, pts)
	assert.Equal(t, 100.0, pts[0].Y)
	assert.Equal(t, 100.0, pts[len(pts)-1].Y)
	assert.InDelta(t, 60, Top(pts, k.At(160), 100), 0.1, "half a bin from the peak")
	// One deviation away a normal density is exp(-1/2) of its peak.
	assert.InDelta(t, 100-40*math.Exp(-0.5), Top(pts, k.At(162), 100), 0.5, "smoothed by a hundredth, and straight between bins")
	assert.Equal(t, 100.0, Top(pts, 500, 100))
	assert.Empty(t, Outline(reading.Density{}, k, 1, 100, 40))
	assert.Empty(t, Outline(normal(20, 2), k, 1, 100, 40), "the whole density is off the scale")
}
