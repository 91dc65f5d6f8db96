package change

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
)

// Which gap is the largest, by hand: with standard deviations of 1 that share nothing, use minus
// control is 2 active - passive - in-skill, of variance 4/(1+n) + 2 with n further active takes.
// 3.2 is above 0 with 95 % where it is 1.645 standard deviations, that is where the variance is at
// most 3.78: with 2 further takes (3.33) and not with 1 (4). 3.6 takes 4.79: 1 is enough. 1.5
// takes 0.83, which no number of active takes reaches, nor of the others.
func TestTakesThatTellTheLargest(t *testing.T) {
	for _, c := range []struct {
		active float64
		takes  int
	}{{190.6, 2}, {190.8, 1}, {189.75, 0}} {
		s, err := NewScreen(levels(1, 200, c.active, 178), ScreenOptions{takes: steady, Seed: 1})
		require.NoError(t, err)
		require.Equal(t, OutcomeShown, s.Outcome)
		require.Empty(t, s.Largest)
		open := s.OpenQuestions()
		require.Len(t, open, 1)
		assert.Equal(t, WhichLargest, open[0].Gap)
		assert.Equal(t, c.takes, open[0].Takes, "active %g", c.active)
		if c.takes > 0 {
			assert.Equal(t, "active", open[0].Condition)
		}
	}
}

// A gap of 4 between two of standard deviation 2: their variance, 8, is to be (4/1.645)^2 = 5.91 at
// most. Two further takes in one of the conditions make it 4 + 4/3, one makes it 6.
//
// A range gap of variance 9 is that of its passive takes alone. 3 degrees take (3/1.645)^2 = 3.33:
// two further takes make it 9/3 where nothing is shared. Of a landmark's 8 degrees^2 half is the
// rater's, who is the same in each: 4 stay, however many takes there are. 4 degrees take 5.91, which
// 4 + 5/3 is below and 4 + 5/2 is not.
func TestTakesThatTellAGap(t *testing.T) {
	moreTakes := func(gap string, sd, passive, active float64, sources map[string]float64) MoreTakes {
		rs := levels(sd, passive, active, 0)[:2]
		for i := range rs {
			rs[i].Sources = sources
		}
		s, err := NewScreen(rs, ScreenOptions{takes: steady, Seed: 1})
		require.NoError(t, err)
		for _, a := range s.MoreTakes {
			if a.Gap == gap {
				return a
			}
		}
		t.Fatalf("nothing is said of %s", gap)
		return MoreTakes{}
	}
	shared := map[string]float64{reading.SourceLandmark: math.Sqrt(8), reading.SourcePlacement: 1}
	assert.Equal(t, MoreTakes{Control, "passive", 2}, moreTakes(Control, 2, 176, 172, nil))
	assert.Equal(t, MoreTakes{Range, "passive", 2}, moreTakes(Range, 3, 177, 150, nil))
	assert.Equal(t, MoreTakes{Range, "passive", 0}, moreTakes(Range, 3, 177, 150, shared))
	assert.Equal(t, MoreTakes{Range, "passive", 2}, moreTakes(Range, 3, 176, 150, shared))
	assert.Equal(t, "two more takes passive (range)", MoreTakes{Range, "passive", 2}.Brief())
	assert.Equal(t, "6 more takes would not tell (range)", MoreTakes{Range, "passive", 0}.Brief())
}

// If the skill shows what is asked nothing is missing, whatever the gaps are; else a gap is shown or the
// screen is undecided.
func TestOutcomes(t *testing.T) {
	for _, c := range []struct {
		passive, active, inSkill float64
		want                     Outcome
	}{
		{176, 164, 158, OutcomeShown},
		{200, 195, 190, OutcomeNothing},
		{200, 180, 190, OutcomeNothing},
		{181, 180, 179, OutcomeUndecided},
	} {
		s, err := NewScreen(levels(2, c.passive, c.active, c.inSkill), ScreenOptions{takes: steady, Seed: 1})
		require.NoError(t, err)
		assert.Equal(t, c.want, s.Outcome, "%g %g %g", c.passive, c.active, c.inSkill)
		if c.want == OutcomeNothing {
			assert.Empty(t, s.OpenQuestions())
		}
	}
	two, err := NewScreen(levels(2, 190, 189.5, 0)[:2], ScreenOptions{takes: steady, Seed: 1})
	require.NoError(t, err)
	assert.Equal(t, OutcomeNothing, two.Outcome, "what is asked is shown active; the skill was not read")
}
