package change

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/movement"
)

// shown is a reading of an angle in a condition, as the ones of levels.
func shown(condition string, deg, sd float64) Reading {
	r := levels(sd, 0, 0, 0)[0]
	r.ID, r.Condition, r.AngleDeg = int64(10+len(condition)), condition, deg
	return r
}

// What a swing passes and own strength does not hold is a gap of its own: swung 186, held 164,
// each ± 2, differ by 22 ± 2 sqrt 2. It changes nothing of the other gaps.
func TestSwungIsAGapOfItsOwn(t *testing.T) {
	without, err := NewScreen(levels(2, 176, 164, 158), ScreenOptions{takes: steady, Seed: 1})
	require.NoError(t, err)
	s, err := NewScreen(append(levels(2, 176, 164, 158), shown("swung", 186, 2)), ScreenOptions{takes: steady, Seed: 1})
	require.NoError(t, err)
	require.Len(t, s.Gaps, 4)
	g := s.Gaps[3]
	assert.Equal(t, Swing, g.Name)
	assert.Equal(t, "swung", g.From)
	assert.Equal(t, "active", g.To)
	sd := 2 * math.Sqrt2
	assert.InDelta(t, 22, g.Deg, drawnMean*sd)
	assert.InDelta(t, sd, g.StandardDeg, drawnMean*sd)
	assert.True(t, g.Shown)
	assert.Nil(t, g.LargestProbability, "it is not on the way from what is asked to the skill")
	for i := range without.Gaps {
		assert.InDelta(t, without.Gaps[i].Deg, s.Gaps[i].Deg, 2*drawnMean*sd)
		assert.InDelta(t, *without.Gaps[i].LargestProbability, *s.Gaps[i].LargestProbability, drawnShare)
	}
	assert.InDelta(t, 22, s.Missing.Deg, drawnMean*2)
	assert.Equal(t, "in-skill", s.Missing.To)
	assert.Contains(t, s.Sentence, "swing 22.0°")

	// swung and active alone make a screen of that gap
	s, err = NewScreen([]Reading{shown("active", 164, 2), shown("swung", 186, 2)}, ScreenOptions{takes: steady, Seed: 1})
	require.NoError(t, err)
	require.Len(t, s.Gaps, 1)
	assert.Equal(t, Swing, s.Gaps[0].Name)
	assert.Equal(t, "active", s.Missing.To)
	assert.NotContains(t, s.Notes, "no reading is swung: the gaps about it are not known")
}

// A pike folds smaller: asked 20 at most, passive 30, active 45, in the skill 60, so that 10, 15
// and 15 degrees are lost, and 40 in all.
func TestScreenWhereLessIsBetter(t *testing.T) {
	rs := levels(2, 30, 45, 60)
	asked := 20.0
	for i := range rs {
		rs[i].Measure, rs[i].Definition, rs[i].AskedDeg = "pike", "hip-shoulder and hip-ankle", nil
	}
	s, err := NewScreen(append(rs, func() Reading { r := rs[0]; r.ID, r.Condition, r.AngleDeg = 9, "swung", 25; return r }()), ScreenOptions{Seed: 1, AskedDeg: &asked, AtMost: true})
	require.NoError(t, err)
	assert.Equal(t, "pike", s.Movement)
	for i, want := range []float64{10, 15, 15, 20} {
		assert.InDelta(t, want, s.Gaps[i].Deg, drawnMean*4, s.Gaps[i].Name)
		assert.True(t, s.Gaps[i].Shown)
	}
	assert.InDelta(t, 40, s.Missing.Deg, drawnMean*2)
	assert.Contains(t, s.Sentence, "more than the 20° that are asked at most")
	require.NotEmpty(t, s.LooksAt)
	assert.NotContains(t, s.Cautions, "over-split")
}

// A screen is of one position: readings of others are left out and named.
func TestScreenOfOnePosition(t *testing.T) {
	rs := levels(2, 80, 60, 50)
	for i := range rs {
		rs[i].Measure, rs[i].Definition, rs[i].Variant = "leg-rise", "hip-level and hip-ankle", "front"
	}
	other := rs[0]
	other.ID, other.Variant = 7, "side"
	s, err := NewScreen(append(rs, other), ScreenOptions{Seed: 1})
	require.NoError(t, err)
	assert.Equal(t, "leg-front", s.Movement)
	assert.Equal(t, []LeftOut{{7, "position side and not front"}}, s.LeftOut)
	assert.Contains(t, s.Notes, "the leg is read against level: past straight up the angle grows smaller again, so a leg beyond straight up reads too low")
}

// Where more than a full split is asked the screen says whether a full passive one was shown. The
// probabilities are a normal distribution's: (angle - 180) / sd of 2, 0.5 and -4.
func TestFullSplitBeforeAnOverSplit(t *testing.T) {
	asked := 200.0
	for _, c := range []struct {
		passive float64
		want    string
		z       float64
		atLeast bool
	}{{188, FullShown, 4, false}, {181, FullWithin, 0.5, true}, {172, FullNot, -4, false}} {
		s, err := NewScreen(levels(2, c.passive, 164, 158), ScreenOptions{takes: steady, Seed: 1, AskedDeg: &asked})
		require.NoError(t, err)
		require.NotNil(t, s.FullSplit)
		assert.Equal(t, c.want, s.FullSplit.Shown)
		assert.InDelta(t, 0.5*math.Erfc(-c.z/math.Sqrt2), *s.FullSplit.Probability, 0.01)
		assert.Equal(t, c.atLeast, s.Levels[0].AtLeast)
		assert.Equal(t, c.atLeast, containsString(s.Notes, AtLeastNote))
	}
	s, err := NewScreen(levels(2, 0, 164, 158)[1:], ScreenOptions{takes: steady, Seed: 1, AskedDeg: &asked})
	require.NoError(t, err)
	assert.Equal(t, FullAbsent, s.FullSplit.Shown)
	s, err = NewScreen(levels(2, 172, 164, 158), ScreenOptions{takes: steady, Seed: 1})
	require.NoError(t, err)
	assert.Nil(t, s.FullSplit, "180 is no over-split")
}

func containsString(list []string, s string) bool {
	for _, one := range list {
		if one == s {
			return true
		}
	}
	return false
}

// Trends, sides and steps take readings of one position, that with the most days.
func TestTrendsNeverMixPositions(t *testing.T) {
	var rs []Reading
	for day := range 5 {
		r := shown("active", 60+float64(day), 2)
		r.ID, r.Measure, r.Definition, r.Variant, r.Day = int64(day), "leg-rise", "hip-level and hip-ankle", "front", r.Day.AddDate(0, day, 0)
		rs = append(rs, r)
	}
	other := rs[4]
	other.ID, other.Variant, other.AngleDeg = 99, "side", 20
	trend, err := NewTrend(append(rs, other), Options{})
	require.NoError(t, err)
	assert.Equal(t, "front", trend.Variant)
	assert.Equal(t, []LeftOut{{99, "position side and not front"}}, trend.LeftOut)
	d, err := Compare(rs[4:], []Reading{other}, 0.95)
	require.NoError(t, err)
	assert.Contains(t, d.Cautions, "unlike positions: front before, side after; they measure different things, so the difference is not a change")
}

// Every movement has what a screen looks at for each gap, and every position is one of a measure
// of the same name as its movement or contrast says.
func TestMovementsAreWhole(t *testing.T) {
	for _, m := range movement.All() {
		for _, gap := range []string{Range, Control, Use, Swing} {
			assert.NotEmpty(t, m.LooksAt[gap], "%s, %s", m.Name, gap)
		}
		if m.Variant != "" {
			_, ok := movement.FindVariant(m.Measure, m.Variant)
			assert.True(t, ok, m.Name)
		}
		found, ok := movement.Of(m.Measure, m.Variant)
		assert.True(t, ok)
		assert.Equal(t, m.Name, found.Name, "one movement of a measure in a position")
	}
}

// A passive split in the usual position that agrees with 180 is read as at least this; an active
// one, another measure, and one that is clearly short or over are not.
func TestAtLeast(t *testing.T) {
	about := [2]float64{176, 184}
	assert.True(t, AtLeast("hip-split", "", "passive", about))
	assert.False(t, AtLeast("hip-split", "", "active", about))
	assert.False(t, AtLeast("shoulder-flexion", "", "passive", about))
	assert.False(t, AtLeast("hip-split", "", "passive", [2]float64{170, 178}))
	assert.False(t, AtLeast("hip-split", "", "passive", [2]float64{182, 190}))
}
