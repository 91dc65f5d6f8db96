package reading

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/fault"
	"ecart/geometry"
)

// An angle outside what bodies reach is read only after a second yes: a shoulder of 252 degrees, a
// knee bent forwards by 40.
func TestBeyondBodies(t *testing.T) {
	shoulder := &Marks{Facing: "left", Marks: []Placement{
		{Landmark: "shoulder", X: 960, Y: 400}, {Landmark: "hip", X: 960, Y: 700}, {Landmark: "elbow", X: 1103, Y: 353.6}}}
	knee := &Marks{Facing: "right", Marks: []Placement{
		{Landmark: "hip", X: 960, Y: 300}, {Landmark: "knee", X: 960, Y: 550}, {Landmark: "ankle", X: 1120.7, Y: 741.5}}}
	for _, c := range []struct {
		measure string
		marks   *Marks
		deg     float64
		said    string
	}{
		{"shoulder-flexion", shoulder, 252, "shoulder flexion of 252° is outside what bodies reach, -90 to 220°"},
		{"knee-bend", knee, -40, "knee bend of -40° is outside what bodies reach, -25 to 165°"},
	} {
		q := request(t, c.marks)
		q.Skill = nil
		q.Measure, _ = geometry.Lookup(c.measure)
		_, err := Read(q)
		var beyond *BeyondBodies
		require.ErrorAs(t, err, &beyond, c.measure)
		assert.Equal(t, c.said, err.Error())
		assert.InDelta(t, c.deg, beyond.AngleDeg, 0.5)
		_, hint := fault.Words(err, func(option string) string { return "--" + option })
		assert.Contains(t, hint, "--beyond")
		q.Beyond = true
		assert.InDelta(t, c.deg, read(t, q).AngleDeg, 2)
	}
}

// The bounds go round the full turn: an arm a little behind the trunk reads 350 and is reached.
func TestReachGoesRound(t *testing.T) {
	r := Reach{-90, 220}
	for deg, want := range map[float64]bool{0: true, 220: true, 221: false, 252: false, 270: true, 350: true, -90: true, -91: false, -140: true, 580: true} {
		assert.Equal(t, want, r.holds(deg), "%g", deg)
	}
	assert.True(t, Reach{-180, 180}.holds(1e4))
}

func TestReachOfPriors(t *testing.T) {
	for _, bad := range []string{"{knee-bent: [0, 10]}", "{knee-bend: [10, 0]}", "{knee-bend: [0, 1000]}"} {
		_, err := ParsePriors("own.yaml", []byte("schema: ecart/priors/1\nbodies:\n  reach_deg: "+bad+"\n"))
		assert.Error(t, err, bad)
	}
	p, err := ParsePriors("own.yaml", []byte("schema: ecart/priors/1\nbodies:\n  reach_deg: {knee-bend: [-45, 165]}\n"))
	require.NoError(t, err)
	assert.Equal(t, Reach{-45, 165}, p.Bodies.Reach["knee-bend"])
}
