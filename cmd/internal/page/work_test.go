package page

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/reading"
)

func proposedMarks(frame int, facing string) *reading.Marks {
	m := &reading.Marks{Schema: reading.MarksSchema, Frame: frame, Facing: facing}
	for _, name := range []string{"hip", "front-ankle", "back-ankle"} {
		m.Marks = append(m.Marks, reading.Placement{Landmark: name, X: 10, Y: 20, Covariance: &[2][2]float64{{9, 0}, {0, 9}}, Proposed: true})
	}
	return m
}

// Proposals replace only proposals: after a person has placed, moved or confirmed a mark there are no new ones.
func TestProposalsReplaceNoPersonsMarks(t *testing.T) {
	k := &Work{Measure: "hip-split", Frames: map[int]*Placed{3: {Level: []reading.Pixel{{1, 2}, {3, 4}}, Rounds: []map[string]reading.Pixel{}}}}
	first := keyOf(k)
	require.NotEmpty(t, first)
	require.True(t, k.propose(proposedMarks(7, "left")))
	assert.Equal(t, 7, k.Frame)
	assert.Equal(t, "left", k.Facing)
	assert.Len(t, k.marks(7).Marks, 3)
	assert.True(t, k.marks(7).Proposed())
	assert.Equal(t, first, keyOf(k), "proposals are no marks")
	assert.Zero(t, k.marked())

	require.True(t, k.propose(proposedMarks(3, "right")))
	assert.Equal(t, []int{3}, []int{k.Frame})
	assert.Len(t, k.Frames, 1, "the proposals before are gone")
	assert.Len(t, k.Frames[3].Level, 2, "what was said of the frame stays")
	assert.Equal(t, "right", k.Facing)

	p := k.Frames[3]
	delete(p.Proposed, "hip") // as the page does with a mark that is moved
	assert.Empty(t, keyOf(k))
	p.Proposed["hip"] = Proposed{Covariance: [2][2]float64{{9, 0}, {0, 9}}, Confirmed: reading.ConfirmedEach}
	assert.Empty(t, keyOf(k))
	assert.Equal(t, 1, k.marked())
	for _, m := range k.marks(3).Marks {
		assert.Equal(t, reading.OnlySeen, m.Found, "nobody felt for it, whatever is said for all")
		assert.Equal(t, m.Landmark != "hip", m.Proposed)
	}

	none := &Work{Measure: "hip-split", Facing: "up", Frames: map[int]*Placed{}}
	assert.False(t, none.propose(nil))
	require.True(t, none.propose(proposedMarks(1, "left")))
	assert.Equal(t, "up", none.Facing, "what a person said stays")
	require.True(t, none.propose(nil))
	assert.Empty(t, none.Frames)
	assert.Equal(t, "up", none.Facing)
}

// The widest moment of a clip is stored with the marks of every frame, also of one that a person marks in place of the
// proposed one. It is removed with the last proposals.
func TestTheWidestMomentGoesWithTheMarks(t *testing.T) {
	k := &Work{Measure: "hip-split", Frames: map[int]*Placed{}}
	m := proposedMarks(7, "left")
	m.Widest = &reading.Widest{Measure: "hip-split", Frame: 7.2, SD: 1, Fall: 0.8, Reach: 5}
	require.True(t, k.propose(m))
	require.NoError(t, k.check())
	k.Frames[10] = &Placed{Rounds: []map[string]reading.Pixel{{"hip": {10, 20}, "front-ankle": {20, 20}, "back-ankle": {1, 20}}}}
	assert.Equal(t, m.Widest, k.marks(10).Widest)
	delete(k.Frames, 10)
	require.True(t, k.propose(nil))
	assert.Nil(t, k.Widest)
	k.Widest = &reading.Widest{Measure: "hip-split", Frame: 7.2, SD: -1, Fall: 0.8, Reach: 5}
	assert.Error(t, k.check())
}

func TestForgedProposalsAreRefused(t *testing.T) {
	for what, q := range map[string]Proposed{
		"a negative variance":  {Covariance: [2][2]float64{{-1, 0}, {0, 1}}},
		"no covariance":        {Covariance: [2][2]float64{{1, 2}, {2, 1}}},
		"an unknown agreement": {Covariance: [2][2]float64{{1, 0}, {0, 1}}, Confirmed: "maybe"},
	} {
		k := &Work{Frames: map[int]*Placed{0: {Proposed: map[string]Proposed{"hip": q}}}}
		assert.Error(t, k.check(), what)
	}
}
