package reading

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// proposals are the marks of a split with one proposed, and its covariance.
func proposals(landmark string) *Marks {
	m := splitMarks(160)
	for i := range m.Marks {
		if m.Marks[i].Landmark == landmark {
			m.Marks[i].Proposed, m.Marks[i].Covariance = true, &[2][2]float64{{100, 0}, {0, 100}}
		}
	}
	return m
}

// A reading with one mark that nobody confirmed is no measurement: it says so, and has
// neither skill nor verdict; so it is where the proposal only decided the side.
func TestAProposalIsNoMeasurement(t *testing.T) {
	for _, landmark := range []string{"hip", "front-ankle", "shoulder"} {
		r := read(t, request(t, proposals(landmark)))
		assert.True(t, r.Proposed, landmark)
		assert.Nil(t, r.Verdict, landmark)
		assert.Nil(t, r.Skill, landmark)
		assert.Contains(t, r.BetweenWords(), "proposed, not confirmed", landmark)
		assert.Equal(t, ProposedNote, r.Notes[0], landmark)
		assert.Equal(t, ProposedAdvice, r.Advice[0], landmark)
		s, err := Sketch(request(t, proposals(landmark)))
		require.NoError(t, err)
		assert.True(t, s.Proposed && s.Skill == nil, landmark)
	}
	r := read(t, request(t, splitMarks(160)))
	assert.False(t, r.Proposed)
	assert.NotNil(t, r.Verdict)
	assert.NotContains(t, r.BetweenWords(), "proposed")
}

// A confirmed proposal is a mark. It is known no better than the proposal was, and not as
// a sticker is found.
func TestConfirmedProposals(t *testing.T) {
	m := proposals("hip")
	m.Found = NotSaid
	for i := range m.Marks {
		m.Marks[i].Proposed, m.Marks[i].Covariance = true, &[2][2]float64{{100, 0}, {0, 100}}
	}
	before := read(t, request(t, m))
	c := m.Confirm(ConfirmedAll)
	assert.True(t, m.Proposed(), "the marks themselves stay")
	assert.False(t, c.Proposed())
	after := read(t, request(t, c))
	assert.NotNil(t, after.Verdict)
	assert.Equal(t, before.IntervalDeg, after.IntervalDeg)

	data, err := json.Marshal(c)
	require.NoError(t, err)
	again, err := ParseMarks("x.json", data)
	require.NoError(t, err)
	assert.Equal(t, c.Marks, again.Marks)
}
