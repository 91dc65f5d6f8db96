package desk

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/trial/needs"
	"ecart/cmd/internal/trial/scene"
	"ecart/vision/pose"
	"ecart/vision/pose/model"
	"ecart/vision/take"
)

// joined returns a clip of these parts of the built-in leap.
func joined(t *testing.T, parts ...scene.Part) *take.Take {
	clip, _ := demotake.Files()
	path := filepath.Join(t.TempDir(), "row.mp4")
	require.NoError(t, scene.Join(t.Context(), clip, path, parts...))
	return opened(t, path)
}

// One athlete comes by and leaps there and back, and the clip ends while another one opens: the two moments are within
// 0.04 s of the drawing's, and the second pass is half of one. (The moment's standard deviation is 0.03 s by priors.yaml; the
// drawing's peak is at 0.7103 s and 163 degrees, leap.truth.json.)
func TestPassesAreProposed(t *testing.T) {
	t.Setenv(model.Variable, needs.PoseNetwork(t))
	tk := joined(t, scene.EmptyHall, scene.WholeLeap, scene.LeapBack, scene.EmptyHall, scene.LeapBegin)
	got, err := New(Options{}).ProposePasses(t.Context(), tk, asked(t, "hip-split"), nil)
	require.NoError(t, err)
	require.Len(t, got, 3)
	for i, at := range []float64{1.7103, 2.5 + 44.0/30 - 0.7103} {
		p := got[i]
		require.NotNil(t, p.Reading, p.WhyNot)
		assert.InDelta(t, at, *p.MomentS, 0.04, "leap %d", p.Leap)
		assert.InDelta(t, 163, p.Reading.PictureAngleDeg, 3, "leap %d", p.Leap)
		assert.True(t, p.Reading.Proposed)
		assert.Equal(t, []int{1, i + 1, 2}, []int{p.Number, p.Leap, p.Leaps})
		assert.InDelta(t, 30, p.From, 5)
		assert.InDelta(t, 119, p.To, 5)
	}
	assert.Equal(t, 2, got[2].Number)
	assert.Nil(t, got[2].Reading)
	assert.Contains(t, got[2].WhyNot, "half a pass: the angle is widest where the clip ends")
	assert.NotEmpty(t, got[2].WhatToDo)
}

// On the page a clip is several takes if one athlete leaps several times in a long pass, and the part that is not read is
// named: the other athlete's half pass.
func TestSeveralOfOneAthlete(t *testing.T) {
	t.Setenv(model.Variable, needs.PoseNetwork(t))
	d, q := New(Options{}), asked(t, "hip-split")
	got, without, err := d.ProposeSeveral(t.Context(), joined(t, scene.WholeLeap, scene.LeapBack, scene.WholeLeap), q, nil)
	require.NoError(t, err)
	require.Len(t, got, 3)
	assert.Empty(t, without)
	for i, p := range got {
		assert.Equal(t, []int{1, i + 1, 3}, []int{p.Number, p.Leap, p.Leaps})
	}
	got, without, err = d.ProposeSeveral(t.Context(), joined(t, scene.WholeLeap), q, nil)
	require.NoError(t, err)
	assert.Empty(t, got, "one leap is one take, and is looked at once")
	assert.Empty(t, without)
	got, without, err = d.ProposeSeveral(t.Context(), joined(t, scene.WholeLeap, scene.EmptyHall, scene.LeapBegin), q, nil)
	require.NoError(t, err)
	assert.Len(t, got, 1)
	require.Len(t, without, 1)
	assert.Regexp(t, `^\d\.\d to \d\.\d s: half a pass`, without[0])
}

// Without the network it is known how many move: nobody, nobody but one who stands, one in all frames, two at once.
func TestWhoMoves(t *testing.T) {
	problem := func(err error) pose.Problem {
		var e *pose.Error
		require.ErrorAs(t, err, &e)
		return e.Problem
	}
	_, standing, err := pose.Passes(t.Context(), joined(t, scene.EmptyHall, scene.EmptyHall), nil)
	assert.Equal(t, pose.NobodyMoves, problem(err))
	assert.Zero(t, standing)
	assert.ErrorContains(t, noPasses("row.mp4", err, 0), `nobody moves in "row.mp4"`)
	_, standing, err = pose.Passes(t.Context(), joined(t, scene.EmptyHall, scene.EmptyHall, scene.Standing, scene.EmptyHall), nil)
	assert.Equal(t, pose.NobodyMoves, problem(err))
	assert.Equal(t, 1, standing)
	assert.ErrorContains(t, noPasses("row.mp4", err, 1), "1 thing stands")
	one, _, err := pose.Passes(t.Context(), joined(t, scene.WholeLeap), nil)
	require.NoError(t, err)
	require.Len(t, one, 1)
	assert.True(t, one[0].CutStart && one[0].CutEnd && !one[0].Shared)
	two, _, err := pose.Passes(t.Context(), joined(t, scene.EmptyHall, scene.TwoLeap, scene.EmptyHall), nil)
	require.NoError(t, err)
	require.Len(t, two, 2)
	for _, p := range two {
		assert.True(t, p.Shared)
		assert.InDelta(t, 30, p.From, 5)
	}
	_, err = New(Options{}).ProposePasses(t.Context(), opened(t, wallFile(t)), asked(t, "hip-split"), nil)
	assert.ErrorContains(t, err, "is a still, and has no passes")
}

func wallFile(t *testing.T) string {
	path := filepath.Join(t.TempDir(), "wall.png")
	writeWall(t, path)
	return path
}

// Names go in order to the passes in which somebody is seen, and to none if their number differs.
func TestNamePasses(t *testing.T) {
	passes := func() []Pass {
		return []Pass{{Number: 1, Leap: 1, Leaps: 2}, {Number: 1, Leap: 2, Leaps: 2}, {Number: 2, Nobody: true}, {Number: 3, WhyNot: "half a pass"}, {Number: 4, Leap: 1, Leaps: 1}}
	}
	names := func(p []Pass) (out []string) {
		for _, one := range p {
			out = append(out, one.Athlete)
		}
		return out
	}
	p := passes()
	list, err := ParseAthletes("Wren, -,Iris")
	require.NoError(t, err)
	require.NoError(t, NamePasses(p, list))
	assert.Equal(t, []string{"Wren", "Wren", "", "", "Iris"}, names(p))
	p = passes()
	err = NamePasses(p, []string{"Wren", "Lio"})
	assert.ErrorContains(t, err, "2 names and 3 passes")
	assert.Equal(t, "", strings.Join(names(p), ""))
	require.NoError(t, NamePasses(p, nil))
	_, err = ParseAthletes("Wren,,Iris")
	assert.ErrorContains(t, err, "empty name")
	for _, bad := range []string{"Wren,L\x1bio", "Wren," + strings.Repeat("N", 200)} {
		_, err = ParseAthletes(bad)
		assert.ErrorContains(t, err, "cannot be kept as a name", "the journal refuses it only once the list is read")
	}
	_, err = ParseAthletes("W\u202eren")
	assert.ErrorContains(t, err, "invisible characters")
}
