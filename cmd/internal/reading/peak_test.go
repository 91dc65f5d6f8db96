package reading

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// opening returns a leap's angle over time: it opens fast, peaks at 0.4137 s between
// two frames and closes slower, unlike a polynomial.
func opening(t float64) float64 {
	const top, peak = 0.4137, 163.0
	width := 0.11
	if t > top {
		width = 0.16
	}
	return 60 + (peak-60)*math.Exp(-(t-top)*(t-top)/(2*width*width))
}

func sampled(rate, sd float64, rng *rand.Rand) []Sample {
	var s []Sample
	for i := range int(rate) {
		t := float64(i) / rate
		s = append(s, Sample{Frame: i, TimeS: t, AngleDeg: opening(t) + sd*rng.NormFloat64(), SDDeg: sd})
	}
	return s
}

func TestPeakBetweenFrames(t *testing.T) {
	p, err := FindPeak(sampled(60, 0.01, rand.New(rand.NewPCG(1, 1))), false)
	require.NoError(t, err)
	assert.InDelta(t, 163, p.AngleDeg, 2*math.Hypot(p.FitSDDeg, p.TimingSDDeg)+0.05)
	assert.InDelta(t, 0.4137, p.TimeS, 0.004)
	assert.Equal(t, 25, p.Frame)
	// within 10 of 163: 103 exp(-x^2/2) = 93, x = 0.4519, of both widths
	assert.InDelta(t, 0.4519*(0.11+0.16), p.HeldS, 0.003)
	assert.False(t, p.HeldCut)
}

// For noisy leaps the stated uncertainty of the peak is right: the error divided by its
// standard uncertainty has a variance of about 1.
func TestPeakUncertainty(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	const n = 600
	for _, c := range []struct{ rate, sd float64 }{{30, 0.8}, {60, 0.8}, {240, 0.8}, {60, 0.3}, {60, 0.1}, {60, 0.03}} {
		in := 0
		for range n {
			p, err := FindPeak(sampled(c.rate, c.sd, rng), false)
			require.NoError(t, err)
			if math.Abs(p.AngleDeg-163) <= 1.96*math.Hypot(p.FitSDDeg, p.TimingSDDeg) {
				in++
			}
		}
		t.Logf("%v frames a second, scatter %v: %.1f %% of 95", c.rate, c.sd, 100*float64(in)/n)
		// three binomial standard deviations below 95 %; intervals may be wider, within bounds
		assert.GreaterOrEqual(t, float64(in)/n, 0.95-3*math.Sqrt(0.95*0.05/n), "%v", c)
	}
}

func TestSmallestAngle(t *testing.T) {
	s := sampled(60, 0.01, rand.New(rand.NewPCG(3, 3)))
	for i := range s {
		s[i].AngleDeg = 200 - s[i].AngleDeg
	}
	p, err := FindPeak(s, true)
	require.NoError(t, err)
	assert.InDelta(t, 37, p.AngleDeg, 0.3)
}

func TestNoPeak(t *testing.T) {
	s := sampled(60, 0.01, rand.New(rand.NewPCG(4, 4)))
	_, err := FindPeak(s[:20], false)
	assert.ErrorContains(t, err, "last frame")
	_, err = FindPeak(s[30:], false)
	assert.ErrorContains(t, err, "first frame")
	_, err = FindPeak(s[:3], false)
	assert.ErrorContains(t, err, "3 frames")
}
