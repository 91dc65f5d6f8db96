package draw

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
)

// normal is the density of a normal quantity in bins of a twentieth of its deviation,
// five deviations to either side.
func normal(mean, sd float64) reading.Density {
	d := reading.Density{FromDeg: mean - 5*sd, StepDeg: sd / 20}
	for i := range 200 {
		z := -5 + (float64(i)+0.5)/20
		d.Values = append(d.Values, math.Exp(-z*z/2))
	}
	return d
}

// A normal quantity holds all but a thousandth within 3.29 of its deviations (its
// quantile at 0.9995).
func TestBulk(t *testing.T) {
	from, to := Bulk(normal(160, 2))
	const bin = 0.1 // the ends are those of bins
	assert.InDelta(t, 160-3.29*2, from, bin)
	assert.InDelta(t, 160+3.29*2, to, bin)
	from, to = Bulk(reading.Density{})
	assert.True(t, math.IsNaN(from) && math.IsNaN(to))
}

// Smoothing takes bins that alternate together, keeps the sum, and widens the density
// by about a hundredth at most.
func TestSmooth(t *testing.T) {
	const widest = 1.011 // one part in a hundred, and a thousandth for the cut tails
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
	assert.InEpsilon(t, sum, after, 1e-6, "what leaves at the ends is of the order of the tails")
	assert.LessOrEqual(t, wide/sd, widest)
	const lower = 0.02 // a hundredth at the top of what is a hundredth wider, and as much again for the rest
	for i, v := range normal(160, 2).Values {
		if i >= 80 && i < 120 {
			assert.InEpsilon(t, 1.1*v, s[i], lower, "bin %d is not between its teeth of 0 and a fifth", i)
		}
	}
	assert.Equal(t, []float64{0, 0}, smooth(reading.Density{Values: []float64{0, 0}}))
}

// The outline stands on its base, is as high as asked where the density is highest,
// and is met there.
func TestOutline(t *testing.T) {
	k := Scale{From: 150, To: 170, A: 10, B: 210}
	pts := Outline(normal(160, 2), k, 1, 100, 40)
	require.NotEmpty(t, pts)
	assert.Equal(t, 100.0, pts[0].Y)
	assert.Equal(t, 100.0, pts[len(pts)-1].Y)
	assert.InDelta(t, 60, Top(pts, k.At(160), 100), 0.1, "a bin's half beside the peak")
	// One deviation away a normal density is exp(-1/2) of its peak.
	assert.InDelta(t, 100-40*math.Exp(-0.5), Top(pts, k.At(162), 100), 0.5, "smoothed by a hundredth, and straight between bins")
	assert.Equal(t, 100.0, Top(pts, 500, 100))
	assert.Empty(t, Outline(reading.Density{}, k, 1, 100, 40))
	assert.Empty(t, Outline(normal(20, 2), k, 1, 100, 40), "all of it lies beside the scale")
}
