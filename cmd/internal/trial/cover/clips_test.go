package main

import (
	"context"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
)

// resting returns three dots that do not move.
func resting(places [3][2]float64) *dotPaths {
	w := &dotPaths{radius: [3]float64{9, 9, 9}}
	for k, p := range places {
		for range 60 {
			w.places[k] = append(w.places[k], p)
		}
	}
	return w
}

// Legs in one line are 180 degrees apart; both hanging at 45 degrees they are 90 apart, through the lower side.
func TestOpening(t *testing.T) {
	for want, legs := range map[float64][3][2]float64{
		180: {{300, 200}, {500, 200}, {100, 200}},
		90:  {{300, 200}, {400, 300}, {200, 300}},
		200: {{300, 200}, {300 + 100*math.Cos(math.Pi/18), 200 - 100*math.Sin(math.Pi/18)}, {300 - 100*math.Cos(math.Pi/18), 200 - 100*math.Sin(math.Pi/18)}},
	} {
		assert.InDelta(t, want, resting(legs).opening(0.1), 1e-9)
	}
}

func TestMaximum(t *testing.T) {
	at, v := maximum(func(t float64) float64 { return 3 - (t-0.1234567)*(t-0.1234567) }, 0, 1)
	assert.InDelta(t, 0.1234567, at, 2e-6)
	assert.InDelta(t, 3, v, 1e-9)
}

// A painted dot covers as much light as its area, and its centre of gravity is its centre.
func TestPaintedDots(t *testing.T) {
	w := resting([3][2]float64{{300.3, 200.7}, {500.25, 210.5}, {100, 190}})
	d := dice{rand.New(rand.NewPCG(1, 2))}
	g := &ground{w: 512, h: paintH, pix: make([][3]float32, 512*paintH)} // black
	canvas := make([][3]float32, paintW*paintH)
	w.frame(d, g, canvas, 0.1)
	for k, p := range w.places {
		var sum, sx, sy float64
		for y := int(p[0][1]) - 20; y < int(p[0][1])+20; y++ {
			for x := int(p[0][0]) - 20; x < int(p[0][0])+20; x++ {
				share := float64(canvas[y*paintW+x][2]) / dotColours[k][2]
				sum += share
				sx += share * float64(x)
				sy += share * float64(y)
			}
		}
		// about 120 pixels on the rim, each with 384 rays: the sum scatters by 0.3 px² and
		// the centre by 0.01 px; the tolerances are four times that
		assert.InDelta(t, math.Pi*81, sum, 1.2)
		assert.InDelta(t, p[0][0], sx/sum, 0.04)
		assert.InDelta(t, p[0][1], sy/sum, 0.04)
	}
}

// One clip from its painting to its peak: nothing refuses it, and the peak found is near.
func TestOnePeak(t *testing.T) {
	d := dice{rand.New(rand.NewPCG(7, 7))}
	o := d.peak(context.Background(), filepath.Join(t.TempDir(), "a.mp4"), reading.DefaultPriors())
	require.NoError(t, o.refused)
	assert.Less(t, math.Abs(o.err), 5*o.sd)
	assert.Less(t, o.sd, 1.0)
	assert.Less(t, math.Abs(o.late), 0.5/paintRate)
}

func TestSumPeaks(t *testing.T) {
	s := sumPeaks([]peakOutcome{{err: 3, sd: 2, held: true}, {err: -4, sd: 2, whole: true}, {refused: assert.AnError}}, 1)
	assert.Equal(t, 1, s.Refused)
	assert.Equal(t, 0.5, s.Held)
	assert.Equal(t, 0.5, s.Whole)
	assert.InDelta(t, math.Sqrt(12.5), s.RMS, 1e-12)
	assert.InDelta(t, 2, s.Stated, 1e-12)
	assert.False(t, s.Within)
}
