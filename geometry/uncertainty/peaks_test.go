package uncertainty

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// constant returns n times sd.
func constant(n int, sd float64) (out []float64) {
	for range n {
		out = append(out, sd)
	}
	return out
}

// The series falls from a peak on both sides by more than 1.96 sqrt(2) standard deviations. A plateau, a rise and noise have no peak.
func TestPeaks(t *testing.T) {
	for _, c := range []struct {
		about  string
		values []float64
		want   []Peak
		atEnds float64
	}{
		{"one", []float64{50, 90, 163, 100, 40}, []Peak{{0, 2, 4}}, math.Inf(-1)},
		{"two, with a valley", []float64{50, 160, 120, 70, 150, 60}, []Peak{{0, 1, 3}, {3, 4, 5}}, math.Inf(-1)},
		{"a dent that the uncertainty explains", []float64{50, 160, 154, 161, 60}, []Peak{{0, 3, 4}}, math.Inf(-1)},
		{"it begins wide", []float64{150, 90, 60, 55}, nil, 150},
		{"it ends wide", []float64{60, 62, 90, 140, 160}, nil, 160},
		{"a peak, and an end that is wider", []float64{60, 110, 70, 120, 160}, []Peak{{0, 1, 2}}, 160},
		{"somebody stands", []float64{60, 63, 58, 61, 60, 64}, nil, math.Inf(-1)},
		{"nothing", nil, nil, math.Inf(-1)},
		{"one value", []float64{100}, nil, math.Inf(-1)},
	} {
		got, atEnds := Peaks(c.values, constant(len(c.values), 3), 0.95) // falls up to 8.3 are not significant
		assert.Equal(t, c.want, got, c.about)
		assert.Equal(t, c.atEnds, atEnds, c.about)
	}
	_, atEnds := Peaks([]float64{60, 69}, constant(2, 3), 0.95)
	assert.Equal(t, 69.0, atEnds, "9 is more than 8.3")
	_, atEnds = Peaks([]float64{60, 68}, constant(2, 3), 0.95)
	assert.Equal(t, math.Inf(-1), atEnds)
}

// Noise changes neither the number of leaps nor their places by more than four values.
func TestPeaksInNoise(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	wrong := 0
	for range 200 {
		var v []float64
		for i := range 90 {
			leap := math.Max(0, math.Cos(float64(i-15)/30*2*math.Pi)) // widest at 15, 45, 75
			v = append(v, 60+100*leap+2*r.NormFloat64())
		}
		got, _ := Peaks(v, constant(len(v), 2), 0.9999) // 90 values are 4000 pairs
		if len(got) != 3 {
			wrong++
			continue
		}
		for k, p := range got {
			assert.InDelta(t, 15+30*k, p.Top, 4)
		}
	}
	assert.LessOrEqual(t, wrong, 4)
}

// A handstand with sway is one peak, two jumps are two.
func TestApart(t *testing.T) {
	sway := []float64{90, 176, 168, 175, 166, 172, 80}
	peaks, _ := Peaks(sway, constant(len(sway), 0.5), 0.95)
	assert.Len(t, peaks, 3)
	assert.Equal(t, []Peak{{0, 1, 6}}, Apart(sway, peaks, 0.75))
	jumps := []float64{10, 140, 12, 150, 8}
	peaks, _ = Peaks(jumps, constant(len(jumps), 0.5), 0.95)
	assert.Equal(t, peaks, Apart(jumps, peaks, 0.75))
	assert.Empty(t, Apart(nil, nil, 0.75))
}
