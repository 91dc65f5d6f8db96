package change

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/season"
)

// levels are one reading in each condition, sharing nothing.
func levels(sd, passive, active, inSkill float64) (out []Reading) {
	asked := 180.0
	for i, c := range conditions[:3] {
		r, _ := twoReadings()
		r.ID, r.Measure, r.Definition, r.Condition, r.StandardDeg, r.Sources, r.AskedDeg = int64(i+1), "hip-split", "hip-ankle and hip-ankle", c, sd, nil, &asked
		r.AngleDeg = []float64{passive, active, inSkill}[i]
		out = append(out, r)
	}
	return out
}

// steady is an athlete whose takes do not vary, so that screens can be worked out by hand.
var steady = variation{{weight: 1}}

// The tolerances of 100,000 draws, in standard deviations: five standard errors, which are 0.003 for a mean,
// 0.009 for an end of a 95 % interval and 0.0016 for a share.
const drawnMean, drawnEnd, drawnShare = 0.016, 0.045, 0.008

func TestGapsOfNormalReadings(t *testing.T) {
	s, err := NewScreen(levels(2, 176, 164, 158), ScreenOptions{takes: steady, Seed: 1})
	require.NoError(t, err)
	require.Len(t, s.Gaps, 3)
	const z = 1.959963984540054
	for i, want := range []struct {
		name string
		deg  float64
		sd   float64
	}{{Range, 4, 2}, {Control, 12, math.Sqrt(8)}, {Use, 6, math.Sqrt(8)}} {
		g := s.Gaps[i]
		assert.Equal(t, want.name, g.Name)
		assert.InDelta(t, want.deg, g.Deg, drawnMean*want.sd)
		assert.InDelta(t, want.sd, g.StandardDeg, drawnMean*want.sd)
		assert.InDelta(t, want.deg-z*want.sd, g.IntervalDeg[0], drawnEnd*want.sd)
		assert.InDelta(t, want.deg+z*want.sd, g.IntervalDeg[1], drawnEnd*want.sd)
		// the normal distribution's share above 0
		assert.InDelta(t, 0.5*math.Erfc(-want.deg/want.sd/math.Sqrt2), g.RealProbability, drawnShare)
	}
	var sum float64
	for _, g := range s.Gaps {
		sum += *g.LargestProbability
	}
	assert.InDelta(t, 1, sum, 1e-9)
	assert.InDelta(t, 22, s.Missing.Deg, drawnMean*2)
	assert.InDelta(t, s.Missing.Deg, s.Gaps[0].Deg+s.Gaps[1].Deg+s.Gaps[2].Deg, 1e-9, "the gaps add up to what is missing")
}

// The probability that the second gap is the larger of two, the third being far
// below, is a normal distribution's: P(active - in-skill < passive - active), that
// is 2 active - passive - in-skill < 0.
func TestLargestByHand(t *testing.T) {
	s, err := NewScreen(levels(2, 200, 190, 178.5), ScreenOptions{takes: steady, Seed: 3})
	require.NoError(t, err)
	want := 0.5 * math.Erfc(1.5/(2*math.Sqrt(6))/math.Sqrt2) // mean 1.5, standard deviation 2 sqrt(4+1+1)
	assert.InDelta(t, want, *s.Gaps[1].LargestProbability, drawnShare)
	assert.Empty(t, s.Largest)
	assert.Contains(t, s.Sentence, "which is the largest is not decided")
	second, err := NewScreen(levels(2, 200, 190, 178.5), ScreenOptions{takes: steady, Seed: 3})
	require.NoError(t, err)
	assert.Equal(t, s, second, "the same seed, the same screen")
}

// What the readings of one day share cancels in the gaps and not in what is missing.
func TestSharedErrorsCancelInGaps(t *testing.T) {
	rs := levels(3, 176, 164, 158)
	for i := range rs {
		rs[i].Sources = map[string]float64{reading.SourceLandmark: math.Sqrt(8), reading.SourcePlacement: 1}
	}
	s, err := NewScreen(rs, ScreenOptions{takes: steady})
	require.NoError(t, err)
	// of 9, half of the landmark's 8 is the rater's, who is the same: 5 are left
	assert.InDelta(t, math.Sqrt(10), s.Gaps[1].StandardDeg, drawnMean*3)
	assert.InDelta(t, 3, s.Gaps[0].StandardDeg, drawnMean*3, "what is asked shares nothing")
	assert.InDelta(t, 3, s.Missing.StandardDeg, drawnMean*3)
	for i := range rs {
		rs[i].Rater = ""
	}
	s, err = NewScreen(rs, ScreenOptions{takes: steady})
	require.NoError(t, err)
	assert.InDelta(t, math.Sqrt(18), s.Gaps[1].StandardDeg, drawnMean*3)
}

// A skew distribution stays what it is: an exponential one, by its own quantiles.
func TestScreenKeepsTheDistribution(t *testing.T) {
	rs := levels(2, 176, 164, 158)
	h := reading.Density{FromDeg: 170, StepDeg: 0.05}
	for i := range 800 { // 170 plus an exponential of mean 3
		h.Values = append(h.Values, math.Exp(-float64(i)*0.05/3)/3)
	}
	rs[0].Density, rs[0].AngleDeg, rs[0].StandardDeg = h, 173, 3
	s, err := NewScreen(rs, ScreenOptions{takes: steady})
	require.NoError(t, err)
	l := s.Levels[0]
	assert.InDelta(t, 173, l.AngleDeg, 0.05)
	assert.InDelta(t, 170-3*math.Log(0.975), l.IntervalDeg[0], 0.05)
	assert.InDelta(t, 170-3*math.Log(0.025), l.IntervalDeg[1], 0.3)
}

// How much takes vary is part of every gap: of single takes nobody knows it, and it is as the prior
// says, uniform from 0 to 4 degrees, with a mean square of 16/3 (24 steps: 5.33 of 5.333). It is that
// of takes which were read where they scatter more.
func TestTakesVaryInGaps(t *testing.T) {
	s, err := NewScreen(levels(2, 176, 164, 158), ScreenOptions{Seed: 1})
	require.NoError(t, err)
	assert.InDelta(t, math.Sqrt(4+16.0/3), s.Gaps[0].StandardDeg, 0.05)
	assert.InDelta(t, math.Sqrt(8+32.0/3), s.Gaps[1].StandardDeg, 0.07)
	assert.InDelta(t, math.Sqrt(4+16.0/3), s.Levels[1].StandardDeg, 0.05)
	steadily, err := NewScreen(levels(2, 176, 164, 158), ScreenOptions{Seed: 1, takes: steady})
	require.NoError(t, err)
	assert.Less(t, s.Gaps[2].RealProbability, steadily.Gaps[2].RealProbability)
	assert.Contains(t, s.Notes, "where there is one take in a condition, how much takes vary is not known from them: the intervals allow for what others vary")
}

// A gap of 0 is called shown in 5 of 100 screens at most where takes vary by 2 degrees, as in studies.
func TestVaryingTakesShowNoGap(t *testing.T) {
	asked := 180.0
	for _, takes := range []int{1, 3} {
		share := count(t, 7, season.Plan{Days: 1, Takes: takes, TakeDeg: 2, Named: true, Conditions: []season.Condition{{Name: "active"}, {Name: "in-skill"}}}, func(_ []season.Reading, rs []Reading) bool {
			s, err := NewScreen(rs, ScreenOptions{AskedDeg: &asked, Draws: 4000})
			require.NoError(t, err)
			return s.Gaps[0].Shown
		})
		t.Logf("%d takes: %.1f %%", takes, 100*share)
		assert.Less(t, share, 0.05+chance)
	}
}

func TestTakesOfOneCondition(t *testing.T) {
	rs := levels(1, 176, 164, 158)
	for i, angle := range []float64{150, 154, 166} { // with 158: mean 157, variance 46.7, far above the reading's own
		r := rs[2]
		r.ID, r.AngleDeg = int64(10+i), angle
		rs = append(rs, r)
	}
	s, err := NewScreen(rs, ScreenOptions{})
	require.NoError(t, err)
	assert.Equal(t, 4, s.Levels[2].Takes)
	assert.InDelta(t, 157, s.Levels[2].AngleDeg, 0.1)
	assert.Greater(t, s.Levels[2].StandardDeg, math.Sqrt(140.0/3/4), "with so few takes it may be more than they scatter")
	assert.Less(t, s.Levels[2].StandardDeg, 5.0, "half of the largest, 10, and the reading's own")
}

func TestScreenSentencesAndLooks(t *testing.T) {
	s, err := NewScreen(levels(1, 178, 160, 157), ScreenOptions{takes: steady})
	require.NoError(t, err)
	assert.Equal(t, Control, s.Largest)
	assert.Equal(t, "23.0° ± 2.0° of 180° are missing; shown: control 18.0° ± 2.8° (over 99 %), range 2.0° ± 2.0° (98 %) and use 3.0° ± 2.8° (98 %); the largest is control", s.Sentence)
	require.Len(t, s.LooksAt, 3)
	assert.Equal(t, Control, s.LooksAt[0].Gap)
	for _, l := range s.LooksAt {
		assert.Equal(t, "common practice, no source", l.Provenance)
		assert.NotEmpty(t, l.At)
	}
	assert.Contains(t, s.Cautions[2], "only after a full passive split")
	_, err = json.Marshal(s)
	require.NoError(t, err)

	met, err := NewScreen(levels(1, 190, 188, 186), ScreenOptions{takes: steady})
	require.NoError(t, err)
	assert.Contains(t, met.Sentence, "nothing is missing")

	part, err := NewScreen(levels(1, 178, 160, 157)[:2], ScreenOptions{takes: steady})
	require.NoError(t, err)
	assert.Len(t, part.Gaps, 2)
	assert.Nil(t, part.Gaps[0].LargestProbability)
	assert.Contains(t, part.Sentence, "shown: control")
	assert.Contains(t, part.Notes[0], "no reading is in-skill")

	// less is better: a bent knee
	asked := 0.0
	rs := levels(1, 2, 8, 20)
	bent, err := NewScreen(rs, ScreenOptions{takes: steady, AskedDeg: &asked, AtMost: true})
	require.NoError(t, err)
	assert.Equal(t, Use, bent.Largest)
	assert.InDelta(t, 2, bent.Gaps[0].Deg, drawnMean)
	assert.InDelta(t, 12, bent.Gaps[2].Deg, drawnMean*2)
}

// A gap is named only where it is shown. What is not says what would show it, by hand:
// readings that share nothing, of standard uncertainty 2, with a gap of 2.8 between
// active and in-skill. It takes 1.645 standard deviations: with m and n takes
// 2 sqrt(1/m + 1/n) <= 1.70, so that no number of takes in one condition will do, since
// 2 sqrt(1) = 2. With a gap of 4 it is 2 sqrt(1 + 1/n) <= 2.43: 1/n <= 0.477, two more.
func TestGapsThatAreNotShown(t *testing.T) {
	s, err := NewScreen(levels(2, 190, 168, 165.2), ScreenOptions{takes: steady, Seed: 1})
	require.NoError(t, err)
	assert.False(t, s.Gaps[0].Shown)
	assert.True(t, s.Gaps[1].Shown)
	assert.False(t, s.Gaps[2].Shown)
	assert.Contains(t, s.Sentence, "not shown: use")
	for _, l := range s.LooksAt {
		assert.Equal(t, Control, l.Gap)
	}
	assert.Equal(t, []MoreTakes{{Use, "active", 0}}, s.MoreTakes)

	s, err = NewScreen(levels(2, 190, 168, 164), ScreenOptions{takes: steady, Seed: 1})
	require.NoError(t, err)
	require.Len(t, s.MoreTakes, 1)
	assert.Equal(t, 2, s.MoreTakes[0].Takes)
}

// What is not known makes no gap surer: with rater, set-up or side left out each gap is
// shown no more probably.
func TestUnnamedGapsAreNoSurer(t *testing.T) {
	named := levels(3, 190, 168, 162)
	for i := range named {
		named[i].Sources = map[string]float64{reading.SourceLandmark: 2, reading.SourceDepth: 1, reading.SourceOblique: 1.5, reading.SourcePerspective: 0.7, reading.SourcePlacement: 0.8}
	}
	before, err := NewScreen(named, ScreenOptions{Seed: 1})
	require.NoError(t, err)
	for _, leave := range []func(r *Reading){func(r *Reading) { r.Rater = "" }, func(r *Reading) { r.Setup = "" }, func(r *Reading) { r.Side = "" }} {
		rs := slices.Clone(named)
		for i := range rs {
			leave(&rs[i])
		}
		after, err := NewScreen(rs, ScreenOptions{Seed: 1})
		require.NoError(t, err)
		for g := range before.Gaps {
			assert.GreaterOrEqual(t, after.Gaps[g].StandardDeg, before.Gaps[g].StandardDeg*(1-drawnMean))
		}
		for l := range before.Levels {
			assert.GreaterOrEqual(t, after.Levels[l].StandardDeg, before.Levels[l].StandardDeg*(1-drawnMean))
		}
	}
}

func TestScreenRefuses(t *testing.T) {
	for what, change := range map[string]func(rs []Reading) []Reading{
		"two conditions or more": func(rs []Reading) []Reading { return rs[:1] },
		"and there is no":        func(rs []Reading) []Reading { rs[0].Condition = ""; return rs[:1] },
		"several days":           func(rs []Reading) []Reading { rs[1].Day = monday.AddDate(0, 0, 1); return rs },
		"none of the readings says": func(rs []Reading) []Reading {
			rs[0].AskedDeg, rs[1].AskedDeg, rs[2].AskedDeg = nil, nil, nil
			return rs
		},
		"of pike":       func(rs []Reading) []Reading { rs[2].Measure = "pike"; return rs },
		"180° and 190°": func(rs []Reading) []Reading { v := 190.0; r := rs[2]; r.AskedDeg = &v; return append(rs, r) },
	} {
		_, err := NewScreen(change(levels(1, 178, 160, 157)), ScreenOptions{})
		require.ErrorContains(t, err, what)
		var h interface{ Hint() string }
		require.ErrorAs(t, err, &h)
	}
}

func BenchmarkScreen(b *testing.B) {
	for b.Loop() {
		if _, err := NewScreen(levels(1, 178, 160, 157), ScreenOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
