package reading

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"ecart/geometry"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The surer a landmark was found, the narrower the interval; if it is not known how, it counts as seen,
// with a note.
func TestHowFoundDecidesTheInterval(t *testing.T) {
	half := map[HowFound]float64{}
	for _, h := range []HowFound{NotSaid, OnlySeen, Felt, Stickered} {
		q := request(t, splitMarks(160))
		q.Marks.Found, q.Camera = h, "by-eye"
		r := read(t, q)
		half[h] = r.ExpandedUncertaintyDeg
		assert.Equal(t, h == NotSaid, strings.Contains(strings.Join(r.Notes, "; "), "how the landmarks were found is not said"), "%q", h)
	}
	assert.Equal(t, half[OnlySeen], half[NotSaid])
	assert.Greater(t, half[OnlySeen], half[Felt]+1)
	assert.Greater(t, half[Felt], half[Stickered]+1)
}

// How a landmark was found is taken from the mark, else from the request, else from the marks file; a mark with a
// covariance is a sticker. Of several marks for one landmark the least sure counts.
func TestSourceOfHowFound(t *testing.T) {
	cov := &[2][2]float64{{1, 0}, {0, 1}}
	for _, c := range []struct {
		mark, asked, file HowFound
		followed          bool
		want              HowFound
		said              bool
	}{
		{NotSaid, NotSaid, NotSaid, false, OnlySeen, false},
		{NotSaid, NotSaid, NotSaid, true, Stickered, true},
		{NotSaid, NotSaid, Felt, false, Felt, true},
		{NotSaid, OnlySeen, Felt, false, OnlySeen, true},
		{Stickered, OnlySeen, Felt, false, Stickered, true},
		{NotSaid, OnlySeen, NotSaid, true, OnlySeen, true},
	} {
		m := Placement{Landmark: "hip", Found: c.mark}
		if c.followed {
			m.Covariance = cov
		}
		q := Request{Found: c.asked, Marks: &Marks{Found: c.file, Marks: []Placement{m}}}
		got, said := q.foundOf("hip")
		assert.Equal(t, c.want, got, "%+v", c)
		assert.Equal(t, c.said, said, "%+v", c)
	}
	q := Request{Marks: &Marks{Marks: []Placement{{Landmark: "hip", Found: Stickered}, {Landmark: "hip", Found: Felt}, {Landmark: "knee", Found: Stickered}}}}
	got, _ := q.foundOf("hip")
	assert.Equal(t, Felt, got)
}

// A user's own figure for a sticker does not change the other uncertainties.
func TestLandmarkFiguresAddUp(t *testing.T) {
	p := DefaultPriors()
	for _, l := range geometry.Landmarks() {
		assert.Greater(t, p.landmarkSD(l, Felt), p.landmarkSD(l, Stickered), l)
		assert.Greater(t, p.landmarkSD(l, OnlySeen), p.landmarkSD(l, Felt), l)
	}
	assert.InDelta(t, 25, p.landmarkSD("hip", Felt), 1e-9)
	assert.InDelta(t, 30, p.landmarkSD("hip", OnlySeen), 0.1)
	own, err := ParsePriors("own.yaml", []byte("schema: ecart/priors/1\nlandmark:\n  sd_mm: {hip: 8}\n"))
	require.NoError(t, err)
	assert.Equal(t, 8.0, own.landmarkSD("hip", Stickered))
	assert.Greater(t, own.landmarkSD("hip", Felt), 20.0)
}

// The advice names only steps that were not taken.
func TestAdviceOnLandmarks(t *testing.T) {
	for h, want := range map[HowFound]string{NotSaid: "feel for each landmark, put a sticker", OnlySeen: "feel for each landmark, put a sticker", Felt: "put a sticker on each landmark as it is felt", Stickered: ""} {
		q := request(t, splitMarks(160))
		q.Marks.Found, q.Camera, q.StatureMm = h, "squared", 1500
		said := strings.Join(read(t, q).Advice, "; ")
		if want == "" {
			assert.NotContains(t, said, "sticker")
		} else {
			assert.Contains(t, said, want, "%q", h)
		}
	}
}

// An unknown way of finding a landmark is refused; the error names the three known ones.
func TestUnknownHowFoundIsRefused(t *testing.T) {
	for _, c := range []string{
		`{"schema": %q, "found": "guessed", "marks": [{"landmark": "hip", "x": 1, "y": 2}]}`,
		`{"schema": %q, "marks": [{"landmark": "hip", "x": 1, "y": 2, "found": "guessed"}]}`,
	} {
		_, err := ParseMarks("m.json", fmt.Appendf(nil, c, MarksSchema))
		require.ErrorContains(t, err, `"guessed"`)
		assert.Contains(t, err.(interface{ Hint() string }).Hint(), "seen, felt, sticker")
	}
	q := request(t, splitMarks(160))
	q.Found = "guessed"
	_, err := Read(q)
	assert.ErrorContains(t, err, "guessed")
}

// proposals returns the marks of a split, one of them proposed, with its covariance.
func proposals(landmark string) *Marks {
	m := splitMarks(160)
	for i := range m.Marks {
		if m.Marks[i].Landmark == landmark {
			m.Marks[i].Proposed, m.Marks[i].Covariance = true, &[2][2]float64{{100, 0}, {0, 100}}
		}
	}
	return m
}

// A reading with an unconfirmed mark is no measurement: it says so, and has
// neither skill nor verdict. The same holds if the proposal only decided the side.
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

// A confirmed proposal is a mark. It is as uncertain as the proposal was, and does not count as
// a sticker.
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
