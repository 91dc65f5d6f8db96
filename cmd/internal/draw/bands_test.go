package draw

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
)

// Bands lie below the asked angle if it is a minimum, and on both sides of 0 if it is a
// maximum.
func TestBandsLieOnTheAngle(t *testing.T) {
	inf := math.Inf(1)
	r := &reading.Reading{Skill: &reading.SkillRef{ThresholdDeg: 180}, Verdict: &reading.Verdict{
		Bands: []reading.BandProbability{{Deduction: "0.10", FromDeg: 5, ToDeg: new(20.0)}, {Deduction: "0.30", FromDeg: 20}},
	}}
	parts := func() (out [][][2]float64) {
		for _, b := range Bands(r) {
			out = append(out, b.Parts)
		}
		return out
	}
	// By hand: 5 degrees short of 180 are free, then 20 short ends the first band.
	assert.Equal(t, [][][2]float64{{{175, inf}}, {{160, 175}}, {{-inf, 160}}}, parts())
	r.Skill.ThresholdDeg, r.Skill.AtMost = 10, true
	assert.Equal(t, [][][2]float64{{{-15, 15}}, {{15, 30}, {-30, -15}}, {{30, inf}, {-inf, -30}}}, parts())
	r.Verdict = nil
	assert.Empty(t, Bands(r))
	assert.Empty(t, BandsOfAsked(nil, false))
	assert.Empty(t, BandsOfAsked(new(math.NaN()), false))
	assert.Equal(t, [][2]float64{{180, inf}}, BandsOfAsked(new(180.0), false)[0].Parts)
}

// Each band is hatched more densely than the one before, and the band that meets the
// requirement has no hatching.
func TestHatching(t *testing.T) {
	for n := 1; n <= mostBands; n++ {
		assert.Zero(t, Band{Rank: 0, Of: n}.Hatch(9))
		last := math.Inf(1)
		for i := 1; i <= n; i++ {
			h := Band{Rank: i, Of: n}.Hatch(9)
			assert.Less(t, h, last)
			assert.Positive(t, h)
			last = h
		}
	}
}

func TestHatchLines(t *testing.T) {
	lines := HatchLines(10, 20, 90, 45, 4)
	require.NotEmpty(t, lines)
	for i, l := range lines {
		for _, p := range l {
			assert.True(t, p.X >= 10-1e-9 && p.X <= 90+1e-9 && p.Y >= 20-1e-9 && p.Y <= 45+1e-9, "%v leaves the box", p)
		}
		assert.InDelta(t, l[1].X-l[0].X, l[0].Y-l[1].Y, 1e-9, "45 degrees, rising")
		if i > 0 {
			// x + y is the same all along a stroke; neighbours differ by spacing * sqrt 2.
			assert.InDelta(t, 4*math.Sqrt2, (l[0].X+l[0].Y)-(lines[i-1][0].X+lines[i-1][0].Y), 1e-9)
		}
	}
}
