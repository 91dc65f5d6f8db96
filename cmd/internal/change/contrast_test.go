package change

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/reading"
)

// takesIn are takes of a measure in a position, with a landmark error of 2 degrees each,
// half of whose variance is the rater's own, and nothing else.
func takesIn(c movement.Contrast, variant string, id int64, deg ...float64) (out []Reading) {
	for i, d := range deg {
		r := levels(2, d, 0, 0)[0]
		r.ID, r.Measure, r.Variant, r.Definition, r.AngleDeg = id+int64(i), c.Measure, variant, "hip-shoulder and hip-knee", d
		r.Sources = map[string]float64{reading.SourceLandmark: 2}
		out = append(out, r)
	}
	return out
}

// Hip flexion with the knee straight to 90 and bent to 120, twice each without scatter: 30 degrees
// further. Of each reading's variance 4 the half is the rater's, which
// cancels; two takes halve the rest: 2 (2/2) = 2, to which comes what takes vary, at most 4 degrees
// (0 by the scatter seen, but that is of two).
func TestContrastByHand(t *testing.T) {
	c, ok := movement.FindContrast("hip-flexion-knee")
	require.True(t, ok)
	rs := append(takesIn(c, c.Taut, 1, 90, 90), takesIn(c, c.Slack, 5, 120, 120)...)
	got, err := NewContrast(rs, c, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 30, got.FurtherDeg, 1e-9)
	assert.InDelta(t, 90, got.Taut.AngleDeg, 1e-9)
	assert.InDelta(t, 120, got.Slack.AngleDeg, 1e-9)
	assert.Equal(t, Further, got.Decision)
	assert.Greater(t, got.Probability, 0.99)
	assert.GreaterOrEqual(t, got.StandardDeg, math.Sqrt(2)-1e-9, "no surer than the errors that are not shared")
	assert.Less(t, got.StandardDeg, math.Sqrt(2+4*4), "takes vary by at most 4 degrees")
	assert.InDelta(t, got.IntervalDeg[1]-30, 30-got.IntervalDeg[0], 1e-9)
	assert.Contains(t, got.Sentence, "further with knee bent than with knee straight")
	assert.Equal(t, c.Above, got.LooksAt[0].At[0])
	assert.Len(t, got.LooksAt, 1)

	// another rater in each position: less cancels
	for i := range rs[:2] {
		rs[i].Rater = "Kit"
	}
	unlike, err := NewContrast(rs, c, 0.95)
	require.NoError(t, err)
	assert.Greater(t, unlike.StandardDeg, got.StandardDeg)
}

// Three takes in one position and one in the other: a difference of 3 degrees asks for one more take where there is one, a
// smaller one for more, and no number of takes decides half a degree. A decided one asks for nothing.
func TestTakesThatDecideAContrast(t *testing.T) {
	c, _ := movement.FindContrast("hip-flexion-knee")
	at := func(further float64) *Contrast {
		got, err := NewContrast(append(takesIn(c, c.Taut, 1, 90, 91, 89), takesIn(c, c.Slack, 5, 90+further)...), c, 0.95)
		require.NoError(t, err)
		return got
	}
	small := at(0.5)
	require.Equal(t, Undecided, small.Decision)
	assert.Equal(t, 0, small.MoreTakes.Takes)
	assert.Contains(t, small.Notes, small.MoreTakes.sentence(c.Measure))
	assert.Nil(t, at(30).MoreTakes)
	var takes []int
	for _, further := range []float64{3.4, 3, 2.6, 2.4, 2.2} {
		got := at(further)
		require.Equal(t, Undecided, got.Decision, "%v", further)
		assert.Equal(t, c.Slack, got.MoreTakes.Variant, "the position with one take gains most")
		takes = append(takes, got.MoreTakes.Takes)
	}
	assert.Equal(t, 1, takes[0])
	assert.IsNonDecreasing(t, takes, "the smaller the difference, the more takes")
	assert.Greater(t, takes[4], 3)
}

// Of the ankle less is further. P(further) is that of the interval's own distribution: at a difference of half the interval's
// width it is (1 + 0.95) / 2, and at 0 one half.
func TestContrastProbability(t *testing.T) {
	c, _ := movement.FindContrast("ankle")
	got, err := NewContrast(append(takesIn(c, c.Taut, 1, 80, 80), takesIn(c, c.Slack, 5, 80, 80)...), c, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 0.5, got.Probability, 1e-9)
	assert.Equal(t, Undecided, got.Decision)
	assert.Len(t, got.LooksAt, 2, "what either would lead to")
	edge := got.IntervalDeg[1]
	got, err = NewContrast(append(takesIn(c, c.Taut, 1, 80+edge, 80+edge), takesIn(c, c.Slack, 5, 80, 80)...), c, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 0.975, got.Probability, 1e-6)
	assert.InDelta(t, 0, got.IntervalDeg[0], 1e-6)
	assert.Equal(t, Further, got.Decision)
	got, err = NewContrast(append(takesIn(c, c.Taut, 1, 60), takesIn(c, c.Slack, 5, 80)...), c, 0.95)
	require.NoError(t, err)
	assert.Equal(t, LessFar, got.Decision)
	assert.Empty(t, got.LooksAt)
}

// A pair is of one day, condition, state and side; the rest is left out and named.
func TestContrastPairsLikeWithLike(t *testing.T) {
	c, _ := movement.FindContrast("shoulder-turn")
	rs := append(takesIn(c, c.Taut, 1, 160, 161), takesIn(c, c.Slack, 5, 175, 176, 177)...)
	rs[4].Condition = "active"
	plain := rs[0]
	plain.ID, plain.Variant = 9, ""
	got, err := NewContrast(append(rs, plain), c, 0.95)
	require.NoError(t, err)
	assert.Equal(t, 2, got.Slack.Takes)
	assert.Equal(t, "passive", got.Condition)
	assert.InDelta(t, 15, got.FurtherDeg, 1e-9)
	assert.Equal(t, []LeftOut{{7, "its day, side, condition, state or lines are not those of the pair"}, {9, "it is in neither of the two positions"}}, got.LeftOut)

	for i := range rs[:2] {
		rs[i].Day = rs[i].Day.AddDate(0, 0, 1)
	}
	_, err = NewContrast(rs, c, 0.95)
	require.ErrorContains(t, err, "there is no day on which both positions of shoulder-turn were read")
}

// Every contrast has words for all that it says, and two positions of its measure.
func TestContrastsAreWhole(t *testing.T) {
	for _, c := range movement.Contrasts() {
		for _, v := range []string{c.Taut, c.Slack} {
			_, ok := movement.FindVariant(c.Measure, v)
			assert.True(t, ok, "%s: %s", c.Name, v)
		}
		assert.Equal(t, movement.Less(c.Measure, c.Taut), movement.Less(c.Measure, c.Slack), c.Name)
		for _, words := range append([]string{c.Title, c.Separates, c.Above, c.Level, c.Source, c.Provenance}, c.Cannot...) {
			assert.NotEmpty(t, words, c.Name)
		}
		assert.NotEmpty(t, c.Cannot, c.Name)
	}
}
