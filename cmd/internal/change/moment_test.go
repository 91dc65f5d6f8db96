package change

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/season"
)

// withUse are readings of one day in which own strength and the skill reach the same, but for
// what frames off the widest moment lose.
func withUse(takes int, rnd *rand.Rand) (rs []Reading) {
	for i, r := range season.Make(season.Plan{Days: 1, Takes: takes, Named: true, FramesOff: 3, Conditions: []season.Condition{{Name: "active"}, {Name: "in-skill"}}}, rnd) {
		c := Reading{ID: int64(i + 1), Day: r.Day, Measure: "hip-split", Definition: "hip-ankle and hip-ankle", Side: r.Side, State: "warm", Condition: r.Condition,
			Rater: r.Rater, Setup: r.Setup, AngleDeg: r.AngleDeg, StandardDeg: r.StandardDeg, Sources: r.Sources}
		if r.OneFrame {
			c.Missed = [2]float64{0, reading.DefaultPriors().Moment.ClipDeg}
		}
		rs = append(rs, c)
	}
	return rs
}

// Frames that are picked beside the widest moment make the skill look as if it did not use what is
// there. A use gap of 0 is called shown no more often for it. Of 200, 5.5 % and three standard
// deviations of the counting are 20.
func TestWrongMomentsShowNoUse(t *testing.T) {
	asked := 180.0
	for _, takes := range []int{1, 3} {
		rnd := rand.New(rand.NewPCG(7, uint64(takes)))
		shown, without := 0, 0
		for range 200 {
			rs := withUse(takes, rnd)
			s, err := NewScreen(rs, ScreenOptions{AskedDeg: &asked, Draws: 4000, takes: steady})
			require.NoError(t, err)
			if s.Gaps[0].Shown {
				shown++
			}
			for i := range rs {
				rs[i].Missed = [2]float64{}
			}
			s, err = NewScreen(rs, ScreenOptions{AskedDeg: &asked, Draws: 4000, takes: steady})
			require.NoError(t, err)
			if s.Gaps[0].Shown {
				without++
			}
		}
		t.Logf("%d takes: %d of 200 shown, %d where the moment is left out", takes, shown, without)
		assert.LessOrEqual(t, shown, 20)
		assert.Greater(t, without, shown)
	}
}

// oneFrame is a screen of held takes and one frame out of a skill.
func oneFrame(missed [2]float64) []Reading {
	var rs []Reading
	for i, c := range conditions[:3] {
		r, _ := twoReadings()
		r.ID, r.Condition, r.AngleDeg, r.Missed = int64(i+1), c, []float64{178, 172, 165}[i], missed
		rs = append(rs, r)
	}
	return rs
}

// What a frame may have missed makes the skill's gap no surer and no larger, and leaves held limbs
// alone. The screen, the trend and the difference name it.
func TestMissedMomentIsCarried(t *testing.T) {
	asked := 180.0
	screen := func(missed [2]float64) *Screen {
		s, err := NewScreen(oneFrame(missed), ScreenOptions{AskedDeg: &asked})
		require.NoError(t, err)
		return s
	}
	peak, frame := screen([2]float64{}), screen([2]float64{0, 5})
	for g := range peak.Gaps {
		a, b := peak.Gaps[g], frame.Gaps[g]
		assert.Equal(t, a.Deg, b.Deg, "the gap is what was shown")
		if a.Name == Use {
			assert.Less(t, b.RealProbability, a.RealProbability)
			assert.InDelta(t, a.IntervalDeg[0]-4, b.IntervalDeg[0], 1.2, "it may be up to 5 degrees less")
			assert.Equal(t, a.IntervalDeg[1], b.IntervalDeg[1], "and no more")
		} else {
			assert.LessOrEqual(t, *b.LargestProbability, *a.LargestProbability)
			b.LargestProbability = a.LargestProbability
			assert.Equal(t, a, b, "what is held has no moment")
		}
	}
	assert.Equal(t, peak.Levels[2].IntervalDeg[0], frame.Levels[2].IntervalDeg[0])
	assert.Greater(t, frame.Levels[2].IntervalDeg[1], peak.Levels[2].IntervalDeg[1]+2)
	assert.Contains(t, frame.Notes[0], "1 of 3 readings is of one frame: the widest moment may show up to 5° more")
	assert.NotContains(t, strings.Join(peak.Notes, "; "), "widest moment")

	a, b := twoReadings()
	a.Condition, b.Condition = "in-skill", "in-skill"
	plain, err := Compare([]Reading{a}, []Reading{b}, 0.95)
	require.NoError(t, err)
	a.Missed, b.Missed = [2]float64{0, 5}, [2]float64{0, 5}
	wide, err := Compare([]Reading{a}, []Reading{b}, 0.95)
	require.NoError(t, err)
	assert.Greater(t, wide.SmallestDeg, plain.SmallestDeg)
	assert.True(t, slices.ContainsFunc(wide.Cautions, func(c string) bool { return strings.Contains(c, "up to 5° more") }))

	var months []Reading
	for i := range 5 {
		r := a
		r.ID, r.Day, r.AngleDeg = int64(i+1), monday.AddDate(0, 0, 28*i), 160+float64(i)
		months = append(months, r)
	}
	with, err := NewTrend(months, Options{AskedDeg: &asked})
	require.NoError(t, err)
	for i := range months {
		months[i].Missed = [2]float64{}
	}
	without, err := NewTrend(months, Options{AskedDeg: &asked})
	require.NoError(t, err)
	assert.Contains(t, strings.Join(with.Notes, "; "), "up to 5° more")
	assert.Greater(t, with.SmallestDeg, without.SmallestDeg)
	assert.InDelta(t, without.Days[0].IntervalDeg[1]+5, with.Days[0].IntervalDeg[1], 1)
}

// What a frame may have missed makes it no surer that nothing is missing.
func TestNothingMissingIsNoSurer(t *testing.T) {
	asked := 150.0
	probability := func(missed [2]float64) float64 {
		rs := oneFrame(missed)
		s, err := NewScreen(rs, ScreenOptions{AskedDeg: &asked})
		require.NoError(t, err)
		return s.Missing.noneProbability
	}
	assert.LessOrEqual(t, probability([2]float64{0, 5}), probability([2]float64{}))
}

// An older reading without a moment gets the prior's; that of a peak gets none.
func TestMissedOfOlderReadings(t *testing.T) {
	r := reading.Reading{NotIncluded: []string{reading.SourceTiming}, Take: reading.Take{Frame: 43, TimeS: 0.7}}
	p := reading.DefaultPriors().Moment
	assert.Equal(t, [2]float64{0, p.ClipDeg}, FromReading(&r).Missed)
	r.Take = reading.Take{}
	assert.Equal(t, [2]float64{0, p.StillDeg}, FromReading(&r).Missed, "it may be a still")
	r.NotIncluded = nil
	assert.Equal(t, [2]float64{}, FromReading(&r).Missed)
}

// What is left out never makes a difference or a gap surer: rater, set-up, side, lens, the day, or the
// widest moment, in place of which one frame was picked.
func TestLeavingOutNeverMakesADifferenceSurer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := twoReadings()
		if rapid.Bool().Draw(t, "one day") {
			b.Day = a.Day
		}
		a.Condition, b.Condition = "in-skill", "in-skill"
		before, err := Compare([]Reading{a}, []Reading{b}, 0.95)
		require.NoError(t, err)
		for _, r := range []*Reading{&a, &b} {
			leaveOut(t, r)
		}
		after, err := Compare([]Reading{a}, []Reading{b}, 0.95)
		require.NoError(t, err)
		if after.SmallestDeg < before.SmallestDeg-rounding {
			t.Fatalf("the smallest real change %g became %g", before.SmallestDeg, after.SmallestDeg)
		}
	})
}

func leaveOut(t *rapid.T, r *Reading) {
	for _, field := range []*string{&r.Rater, &r.Setup, &r.Side} {
		if rapid.Bool().Draw(t, "left out") {
			*field = ""
		}
	}
	if rapid.Bool().Draw(t, "no day") {
		r.AnyDay = true
	}
	if rapid.Bool().Draw(t, "one frame") {
		r.Missed = [2]float64{0, 5}
	}
}

// The same for the gaps of a screen. A probability from 20 000 draws is good to 0.0035, and two of
// them differ by chance by up to 0.02 (four standard deviations).
func TestLeavingOutNeverMakesAGapSurer(t *testing.T) {
	asked := 180.0
	checks := 0
	rapid.Check(t, func(t *rapid.T) {
		if checks++; checks > 40 { // a screen takes a tenth of a second
			return
		}
		rs := oneFrame([2]float64{})
		rs[2].AngleDeg = rapid.Float64Range(155, 171).Draw(t, "in the skill")
		opt := ScreenOptions{AskedDeg: &asked, Draws: 20_000}
		before, err := NewScreen(rs, opt)
		require.NoError(t, err)
		for i := range rs {
			leaveOut(t, &rs[i])
			rs[i].Side = "left" // of unlike sides one is left out
		}
		after, err := NewScreen(rs, opt)
		require.NoError(t, err)
		for g := range before.Gaps {
			if p, q := before.Gaps[g].RealProbability, after.Gaps[g].RealProbability; p > 0.5 && q > p+0.02 {
				t.Fatalf("%s: probability %g became %g", before.Gaps[g].Name, p, q)
			}
		}
	})
}
