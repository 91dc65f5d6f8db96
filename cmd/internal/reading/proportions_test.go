package reading

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// A body folded at the hip: trunk of 250 px straight up, leg of 400 px level, arm of 300 px down along the
// trunk. Its proportions are those of the pixels, and the positions follow from the law of cosines,
// acos((250² + 400² - 300²)/(2·250·400)) = 48.5°, and from right-angled triangles, acos(250/300) = 33.6° and
// 180° + acos((400 - 300)/250) = 246.4°.
func TestProportionsAreThoseMarked(t *testing.T) {
	q := request(t, &Marks{Schema: MarksSchema, Found: Stickered, Facing: "right", Marks: []Placement{
		{Landmark: "hip", X: 900, Y: 700}, {Landmark: "shoulder", X: 900, Y: 450}, {Landmark: "ankle", X: 1300, Y: 700}, {Landmark: "wrist", X: 900, Y: 750}}})
	q.Measure, _ = geometry.Lookup("pike")
	q.Skill, q.Camera, q.DistanceM = nil, "squared", 100 // far off, where nearer parts of the body are no larger
	r := read(t, q)
	want := map[string]float64{"arm-to-leg": 0.75, "arm-to-trunk": 1.2, "trunk-to-leg": 0.625}
	require.Len(t, r.Proportions, len(want))
	for _, p := range r.Proportions {
		assert.InEpsilon(t, want[p.Name], p.Ratio, 0.01, p.Name)
		assert.Less(t, p.Interval[0], want[p.Name])
		assert.Greater(t, p.Interval[1], want[p.Name])
	}
	require.Len(t, r.Positions, 3)
	assert.InDelta(t, 246.4, r.Positions[2].AngleDeg, 1)
	assert.InDelta(t, 48.5, r.Positions[0].AngleDeg, 1)
	assert.InDelta(t, 33.6, r.Positions[1].AngleDeg, 1)
	says := r.ProportionWords()
	require.Len(t, says, 6)
	assert.Regexp(t, `^the arm is 0\.7[45]\d? ± 0\.0\d+ of the leg$`, says[0])
	assert.Regexp(t, `^with these lengths and a flat back the wrists reach the ankles folded to 4[89](\.\d)?° ± \d(\.\d)?° at the hip$`, says[3])

	// an arm hardly longer than the trunk: whether the hands reach a rail at all is not known
	q.Marks.Marks[3].Y = 450 + 255
	r = read(t, q)
	require.Len(t, r.Positions, 2)
	assert.Equal(t, AnklesTouched, r.Positions[0].Name)
	assert.Equal(t, Bridge, r.Positions[1].Name)

	q.Marks.Marks = q.Marks.Marks[:3]
	assert.Empty(t, read(t, q).ProportionWords(), "nobody asked about the arms")
}

// A less square camera makes proportions less certain: it shortens level lengths but not plumb ones.
func TestObliqueProportionsAreLessSure(t *testing.T) {
	width := func(camera string) float64 {
		q := request(t, &Marks{Schema: MarksSchema, Found: Stickered, Facing: "right", Marks: []Placement{
			{Landmark: "hip", X: 900, Y: 700}, {Landmark: "shoulder", X: 900, Y: 450}, {Landmark: "ankle", X: 1300, Y: 700}, {Landmark: "wrist", X: 900, Y: 750}}})
		q.Measure, _ = geometry.Lookup("pike")
		q.Skill, q.Camera = nil, camera
		p := read(t, q).Proportions[0]
		return p.Interval[1] - p.Interval[0]
	}
	assert.Greater(t, width("unknown"), 1.2*width("squared"))
}

// The distance between the legs is given in shoulder widths if both shoulders are marked.
func TestLegsApartInShoulderWidths(t *testing.T) {
	q := request(t, &Marks{Schema: MarksSchema, Found: Stickered, Facing: "camera", Marks: []Placement{
		{Landmark: "right-hip", X: 900, Y: 500}, {Landmark: "left-hip", X: 1000, Y: 500}, {Landmark: "right-ankle", X: 800, Y: 850}, {Landmark: "left-ankle", X: 1100, Y: 850}}})
	q.Measure, _ = geometry.Lookup("leg-separation")
	q.Skill, q.Camera = nil, "squared"
	assert.Nil(t, read(t, q).LegsApart)
	q.Marks.Marks = append(q.Marks.Marks, Placement{Landmark: "right-shoulder", X: 850, Y: 300}, Placement{Landmark: "left-shoulder", X: 1050, Y: 300})
	r := read(t, q)
	require.NotNil(t, r.LegsApart)
	assert.InEpsilon(t, 1.5, r.LegsApart.Ratio, 0.02)
	assert.Less(t, r.LegsApart.Interval[0], 1.5)
	assert.Greater(t, r.LegsApart.Interval[1], 1.5)
	assert.False(t, math.IsNaN(r.LegsApart.StandardUncertainty))
	says := func() string { words := read(t, q).BesideWords(); return words[len(words)-1] }
	assert.Regexp(t, `^the ankles are 1\.\d+ ± 0\.\d+ shoulder widths apart: shoulder width or more \(over 99 % sure\)$`, says())
	for i, x := range map[int]float64{2: 900, 3: 1000} { // as far apart as the hips, half the shoulders
		q.Marks.Marks[i].X = x
	}
	assert.Contains(t, says(), "closer than the shoulders are wide (over 99 % sure)")
	for i, x := range map[int]float64{2: 850, 3: 1050} {
		q.Marks.Marks[i].X = x
	}
	assert.Contains(t, says(), "the picture cannot tell that from shoulder width")
	assert.InDelta(t, 0.5, read(t, q).LegsApart.Less, 0.15)
}

// Leaving something out makes no proportion more certain, nor any angle of a position from it.
func TestLeavingOutNeverNarrowsProportions(t *testing.T) {
	out := map[string]func(*Request){
		"distance": func(q *Request) { q.DistanceM = 0 }, "stature": func(q *Request) { q.StatureMm = 0 }, "camera": func(q *Request) { q.Camera = "" },
		"how found": func(q *Request) { q.Marks.Found = NotSaid }, "focal length": func(q *Request) { q.FocalMm = 0 }, "level": func(q *Request) { q.Marks.Level = nil },
	}
	widths := func(left ...string) map[string]float64 {
		q := request(t, &Marks{Schema: MarksSchema, Found: Stickered, Facing: "right", Level: &[2]Pixel{{100, 1000}, {1800, 1000}}, Marks: []Placement{
			{Landmark: "hip", X: 900, Y: 700}, {Landmark: "shoulder", X: 900, Y: 450}, {Landmark: "ankle", X: 1300, Y: 700}, {Landmark: "wrist", X: 900, Y: 770}}})
		q.Measure, _ = geometry.Lookup("pike")
		q.Skill, q.Camera, q.DistanceM, q.StatureMm, q.FocalMm = nil, "squared", 5, 1500, 28
		for _, what := range left {
			out[what](&q)
		}
		w := map[string]float64{}
		r := read(t, q)
		for _, p := range r.Proportions {
			w[p.Name] = p.Interval[1] - p.Interval[0]
		}
		for _, p := range r.Positions {
			w[p.Name] = p.IntervalDeg[1] - p.IntervalDeg[0]
		}
		return w
	}
	full := widths()
	require.Len(t, full, 6)
	for _, left := range [][]string{{"distance"}, {"stature"}, {"camera"}, {"how found"}, {"focal length"}, {"level"}, {"distance", "focal length"}, {"stature", "distance"}, {"camera", "how found", "level"}} {
		less := widths(left...)
		for name, w := range full {
			if now, ok := less[name]; ok { // else its angle is no longer known
				assert.GreaterOrEqual(t, now, w*(1-besideChance), "%s without %v", name, left)
			}
		}
	}
}
