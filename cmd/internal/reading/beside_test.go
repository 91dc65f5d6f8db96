package reading

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/geometry"
)

// leapTo returns a leap with the front and the back leg so many degrees below level, and the trunk
// plumb; way is +1 to the right and -1 to the left.
func leapTo(way, front, back float64, names [2]string) *Marks {
	at := func(landmark string, deg, length, way float64) Placement {
		s, c := math.Sincos(deg * math.Pi / 180)
		return Placement{Landmark: landmark, X: 960 + way*length*c, Y: 540 + length*s}
	}
	return &Marks{Schema: MarksSchema, Found: Stickered, Level: &[2]Pixel{{300, 900}, {1600, 900}}, Marks: []Placement{
		{Landmark: "hip", X: 960, Y: 540}, {Landmark: "shoulder", X: 960, Y: 335},
		at(names[0]+"-ankle", front, testLeg, way), at(names[1]+"-ankle", back, testLeg, -way),
	}}
}

// The angles of each leg are those that were drawn: with the trunk plumb a leg 10 degrees below level is
// 80 from the trunk's line, and the two parts add up to the split.
func TestEachLegIsRead(t *testing.T) {
	for _, way := range []float64{1, -1} {
		q := request(t, leapTo(way, 10, 25, [2]string{"front", "back"}))
		q.Camera = "squared"
		r := read(t, q)
		for _, c := range []struct {
			measure, leg string
			deg          float64
		}{
			{"leg-rise", "front", -10}, {"leg-rise", "back", -25},
			{"hip-flexion", "front", 80}, {"hip-flexion", "back", 65}, {"uneven-legs", "front", 15},
		} {
			b := r.besideOf(c.measure, c.leg)
			require.NotNil(t, b, c)
			assert.InDelta(t, c.deg, b.AngleDeg, 1, c)
			assert.Less(t, b.IntervalDeg[0], c.deg)
			assert.Greater(t, b.IntervalDeg[1], c.deg)
		}
		assert.InDelta(t, r.AngleDeg, r.besideOf("hip-flexion", "front").AngleDeg+r.besideOf("hip-flexion", "back").AngleDeg, 0.5)
		says := r.BesideWords()
		require.Len(t, says, 3)
		assert.Regexp(t, `^the front leg is 10(\.\d)?° ± \d(\.\d)?° below level, and (79|80)(\.\d)?° ± \d(\.\d)?° in front of the trunk's line$`, says[0])
		assert.Regexp(t, `^the back leg is 2[45](\.\d)?° ± \d(\.\d)?° below level, and 6[45](\.\d)?° ± \d(\.\d)?° behind the trunk's line, the arch of the back included$`, says[1])
		assert.Regexp(t, `^the front leg is the higher one, by 1[456](\.\d)?° ± \d(\.\d)?°$`, says[2])
	}
}

// Legs as high as each other are not called uneven, and legs marked right and left are called that.
func TestLegsByTheirNames(t *testing.T) {
	q := request(t, leapTo(1, 12, 12, [2]string{"right", "left"}))
	r := read(t, q)
	assert.Empty(t, r.HigherLeg())
	says := r.BesideWords()
	require.Len(t, says, 3)
	assert.Contains(t, says[0], "the right leg is 1")
	assert.Contains(t, says[0], "from the trunk's line")
	assert.Contains(t, says[2], "does not show one leg to be higher")

	q = request(t, leapTo(1, 5, 35, [2]string{"right", "left"}))
	assert.Equal(t, "right", read(t, q).HigherLeg())
	q = request(t, leapTo(1, 35, 5, [2]string{"right", "left"}))
	assert.Equal(t, "left", read(t, q).HigherLeg())
}

// Without a shoulder there is no angle of the trunk.
func TestNoTrunkMarked(t *testing.T) {
	m := leapTo(1, 10, 25, [2]string{"front", "back"})
	m.Marks = append(m.Marks[:1], m.Marks[2:]...)
	says := read(t, request(t, m)).BesideWords()
	require.Len(t, says, 3)
	assert.NotContains(t, says[0], "trunk")
}

// A trunk of two equal halves, the upper leaning back by 20 degrees: against the whole trunk the arm is
// 10 degrees farther overhead than against the ribs (an isosceles triangle).
func TestArchedBack(t *testing.T) {
	up := func(x, y, deg, length float64) (float64, float64) { // deg back from straight up, chest to the right
		s, c := math.Sincos(deg * math.Pi / 180)
		return x - length*s, y - length*c
	}
	sx, sy := up(900, 600, 20, 200)
	ex, ey := up(sx, sy, 0, 200)
	marks := []Placement{{Landmark: "hip", X: 900, Y: 800}, {Landmark: "shoulder", X: sx, Y: sy}, {Landmark: "elbow", X: ex, Y: ey}}
	q := request(t, &Marks{Schema: MarksSchema, Found: Stickered, Facing: "right", Marks: marks})
	q.Skill, q.Camera = nil, "squared"
	q.Measure, _ = geometry.Lookup("shoulder-flexion")
	r := read(t, q)
	assert.Empty(t, r.BesideWords(), "no ribs marked")
	assert.Contains(t, r.NotIncluded, "an arch of the back, which counts in this angle: mark ribs")

	q.Marks.Marks = append(marks, Placement{Landmark: "ribs", X: 900, Y: 600})
	r = read(t, q)
	assert.Equal(t, []string{SourceTiming}, r.NotIncluded)
	assert.InDelta(t, 170, r.AngleDeg, 1)
	assert.InDelta(t, 20, r.besideOf("trunk-arch", "").AngleDeg, 1)
	assert.InDelta(t, 160, r.besideOf("shoulder-flexion-from-ribs", "").AngleDeg, 1)
	says := r.BesideWords()
	require.Len(t, says, 2)
	assert.Regexp(t, `^the trunk is arched back at the lowest ribs by (19|20)(\.\d)?° ± \d+(\.\d)?°$`, says[0])
	assert.Regexp(t, `^from the lowest ribs up, without what the trunk arches, it is 1(59|60)(\.\d)?° ± \d+(\.\d)?°$`, says[1])
}
