package reading

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A frame beside the widest moment says what it missed: three frames off, where the angle falls by 0.8 n^2/2
// degrees, 3.6. The reading's own interval stays that of the frame.
func TestMissedDegreesOfAFrame(t *testing.T) {
	q := request(t, splitMarks(160))
	q.Take.Frame, q.Skill, q.Priors = 43, nil, DefaultPriors()
	before, err := Read(q)
	require.NoError(t, err)
	assert.Equal(t, Moment{0, 5, "a frame that somebody picked"}, *before.Moment)

	w := &Widest{Measure: q.Measure.Name, Frame: 40, SD: 0.5, Fall: 0.8, Reach: 6}
	marks := *q.Marks
	marks.Widest = w
	q.Marks = &marks
	off, err := Read(q)
	require.NoError(t, err)
	assert.Less(t, off.Moment.LeastDeg, 3.6)
	assert.Greater(t, off.Moment.LeastDeg, 0.0, "0 is ruled out")
	assert.Greater(t, off.Moment.MostDeg, 3.6)
	assert.Equal(t, before.IntervalDeg, off.IntervalDeg)

	q.Take.Frame = 40
	at, err := Read(q)
	require.NoError(t, err)
	assert.Zero(t, at.Moment.LeastDeg)
	assert.LessOrEqual(t, at.Moment.MostDeg, 1.0, "closer than the prior of a frame that somebody picked")

	for what, change := range map[string]func(){
		"beyond its reach":          func() { q.Take.Frame = 47 },
		"of another measure":        func() { w.Measure = "pike" },
		"where less is better":      func() { q.Skill = &Skill{Measure: q.Measure.Name, AskedDeg: 160, AtMost: true} },
		"unless the clip says more": func() { q.Moment = &Moment{1, 2, "followed"} },
	} {
		was := q
		far := *w
		change()
		m := q.moment()
		if q.Moment != nil {
			assert.Equal(t, Moment{1, 2, "followed"}, *m, what)
		} else {
			assert.Equal(t, *before.Moment, *m, what)
		}
		q, *w = was, far
	}
	q.Movement = &Movement{}
	assert.Nil(t, q.moment(), "a peak misses nothing")
}

// The moment is written with the marks and read back; impossible figures are refused.
func TestTheWidestMomentInAMarksFile(t *testing.T) {
	m := Marks{Schema: MarksSchema, Marks: []Placement{{Landmark: "hip", X: 1, Y: 2}}, Widest: &Widest{Measure: "hip-split", Frame: 40.25, SD: 0.5, Fall: 0.8, Reach: 6}}
	parse := func() (*Marks, error) {
		data, err := json.Marshal(m)
		require.NoError(t, err)
		return ParseMarks("leap.json", data)
	}
	got, err := parse()
	require.NoError(t, err)
	assert.Equal(t, m.Widest, got.Widest)
	m.Widest.Fall = -1
	_, err = parse()
	require.ErrorContains(t, err, "figures that are none")
	m.Widest.Fall, m.Widest.Measure = 0.8, "splits"
	_, err = parse()
	require.ErrorContains(t, err, `unknown measure "splits"`)
}
