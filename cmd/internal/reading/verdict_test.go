package reading

import (
	"fmt"
	"math"
	"testing"

	"ecart/cmd/internal/fault"
	"ecart/geometry"
	"ecart/geometry/uncertainty"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func straightSkill(measure string) *Skill {
	return &Skill{Rulebook: "made", Name: "straight", Measure: measure, AtMost: true,
		Bands: []Band{{"slight", "0.1", 0, 15}, {"medium", "0.3", 15, 45}, {"large", "0.5", 45, math.Inf(1)}}}
}

// lineUp returns marks of wrist and ankle, the ankle so many pixels beside plumb.
func lineUp(t *testing.T, px float64) Request {
	q := request(t, &Marks{Marks: []Placement{{Landmark: "wrist", X: 960, Y: 900}, {Landmark: "ankle", X: 960 + px, Y: 200}}, Level: &[2]Pixel{{100, 950}, {1800, 950}}})
	q.Measure, _ = geometry.Lookup("off-vertical")
	q.Skill = straightSkill("off-vertical")
	return q
}

// A handstand that is straight as far as the picture shows is not charged: before, it was "off by 0.0°
// more than the 0° at most, with over 99 % probability".
func TestStraightHandstandHasNoDeduction(t *testing.T) {
	r := read(t, lineUp(t, 0))
	v := r.Verdict
	require.Less(t, r.IntervalDeg[0], 0.0)
	require.Greater(t, r.IntervalDeg[1], 0.0)
	assert.Equal(t, Undecided, v.Decision)
	assert.Greater(t, v.NoneProbability, 0.9)
	sum := v.NoneProbability
	for _, b := range v.Bands {
		assert.Less(t, b.Probability, 0.1, b.Deduction)
		sum += b.Probability
	}
	assert.InDelta(t, 1, sum, 1e-9)
	assert.Equal(t, "the picture cannot tell it from no deviation", r.Says()[0])
	assert.NotContains(t, r.Say(), "99")
	assert.Equal(t, "not told from 0°", r.Brief())

	// ten degrees off are shown, and the band is before the degrees
	r = read(t, lineUp(t, 700*math.Tan(10*math.Pi/180)))
	assert.Equal(t, Short, r.Verdict.Decision)
	assert.Regexp(t, `^0\.1 \(9\d % sure\)$`, r.Says()[0])
	assert.Regexp(t, `^off 0° \(over 99 % sure\), by 10\.\d° ± \d\.\d°$`, r.Says()[1])
}

// If exactly 0 is asked, the verdict is decided as soon as 0 is outside the interval, no band reaches the
// confidence before, and the probabilities of the outcomes add up to 1.
func TestZeroIsDecidedWhereTheIntervalLeavesIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		measure := rapid.SampledFrom([]string{"off-vertical", "elbow-bend", "leg-rise", "knee-bend"}).Draw(t, "measure")
		mean, sd := rapid.Float64Range(-20, 20).Draw(t, "mean"), rapid.Float64Range(0.2, 12).Draw(t, "sd")
		d, err := uncertainty.MonteCarlo([]uncertainty.Block{uncertainty.NewScalar("x", mean, sd)}, func(x []float64) float64 { return x[0] },
			uncertainty.Options{Seed: 1, Coverage: 0.95, MaxDraws: 20_000})
		require.NoError(t, err)
		s := straightSkill(measure)
		v := judge(s, s.ref(), d, 0.95)
		r := &Reading{Measure: measure, Skill: s.ref(), Verdict: v, AngleDeg: d.Mean, IntervalDeg: [2]float64{d.Low, d.High}, ExpandedUncertaintyDeg: 2 * sd, StandardUncertaintyDeg: sd}
		sum := 0.0
		for _, o := range r.Outcomes() {
			assert.GreaterOrEqual(t, o.Probability, 0.0)
			sum += o.Probability
		}
		assert.InDelta(t, 1, sum, 1e-9)
		const draws = 0.02 // of an interval's end among 20 000 draws, in probability
		switch {
		case d.Low <= 0 && d.High >= 0:
			assert.Equal(t, Undecided, v.Decision)
			assert.NotContains(t, r.Say(), "sure")
			for _, b := range v.Bands {
				assert.Less(t, b.Probability, 0.975+draws, "one way")
				if measure != "knee-bend" {
					assert.Less(t, b.Probability, 0.95+draws)
				}
			}
		case measure == "knee-bend" && d.High < 0:
			assert.Equal(t, Meets, v.Decision, "a knee past straight is not bent")
		default:
			sure := 1 - v.NoneProbability
			if measure == "knee-bend" {
				sure = 1 - v.MeetsProbability
			}
			assert.Greater(t, sure, 0.95-draws)
		}
	})
}

// A knee past straight meets what is asked, as a straight one does; a bent one does not.
func TestHyperExtensionIsNoBend(t *testing.T) {
	m, _ := geometry.Lookup("knee-bend")
	for bend, want := range map[float64]Decision{-20: Meets, 0: Undecided, 40: Short} {
		// a standing leg seen from the side, the chest to the right: the shank goes back, to the left, as it bends
		sin, cos := math.Sincos(bend * math.Pi / 180)
		q := request(t, &Marks{Facing: "right", Marks: []Placement{{Landmark: "hip", X: 960, Y: 200}, {Landmark: "shoulder", X: 960, Y: 20}, {Landmark: "knee", X: 960, Y: 500}, {Landmark: "ankle", X: 960 - 300*sin, Y: 500 + 300*cos}}})
		q.Measure, q.Skill = m, straightSkill("knee-bend")
		r := read(t, q)
		assert.InDelta(t, bend, r.PictureAngleDeg, 1e-9, "%v", bend)
		assert.Equal(t, want, r.Verdict.Decision, "%v: %s", bend, r.Say())
		if bend == 0 {
			assert.Equal(t, "the picture cannot tell it from no bend", r.Says()[0])
		}
		if bend > 0 {
			assert.Contains(t, r.Say(), "0.3 (", fmt.Sprint(bend))
		}
	}
}

// The band is before the degrees, and if the picture cannot decide it, that comes
// before how short the angle is.
func TestTheBandIsSaidFirst(t *testing.T) {
	v := &Verdict{Decision: Short, Confidence: 0.95, MeetsProbability: 0, ShortfallDeg: 16.5, Bands: []BandProbability{
		{"0 to 20 short", "0.10", 0, new(20.0), 0.87}, {"20 to 45 short", "0.30", 20, new(45.0), 0.13}, {"more", "no value", 45, nil, 0}}}
	r := &Reading{Measure: "hip-split", Skill: &SkillRef{ThresholdDeg: 180}, Verdict: v, AngleDeg: 163.5, ExpandedUncertaintyDeg: 5.83, StandardUncertaintyDeg: 3,
		IntervalDeg: [2]float64{157.37, 169.74}, Coverage: 0.95}
	assert.Equal(t, []string{"the picture cannot decide between 0.10 (87 %) and 0.30 (13 %)", "short of 180° (over 99 % sure), by 16.5° ± 5.9°"}, r.Says())
	assert.Equal(t, "the true angle lies between 157 and 170, 95 % sure", r.BetweenWords())
	assert.Equal(t, "0.10 or 0.30", r.Brief())
	v.Bands[0].Probability, v.Bands[1].Probability = 0.999, 0.001
	assert.Equal(t, "0.10 (over 99 % sure)", r.Says()[0])
	v.Decision, v.MeetsProbability = Meets, 0.97
	assert.Equal(t, []string{"meets 180° (97 % sure)"}, r.Says())
}

// The caution on over-splits is there if one is asked or may have been reached.
func TestOverSplitCaution(t *testing.T) {
	asked := func(deg float64) *Reading {
		return &Reading{Measure: "hip-split", AngleDeg: 160, IntervalDeg: [2]float64{155, 165}, Skill: &SkillRef{ThresholdDeg: deg},
			Cautions: []string{"general", OverSplitCaution, "Never through pain.", "On bars with a coach."}}
	}
	assert.Equal(t, []string{"general", "On bars with a coach."}, asked(180).ChiefCautions())
	assert.Equal(t, []string{"general", OverSplitCaution, "On bars with a coach."}, asked(206).ChiefCautions(), "asked")
	r := asked(180)
	r.AngleDeg, r.IntervalDeg = 178, [2]float64{172, 184}
	assert.Contains(t, r.ChiefCautions(), OverSplitCaution, "may have been reached")
	r.Measure = "leg-separation"
	assert.Contains(t, r.ChiefCautions(), OverSplitCaution)
	r.Measure = "shoulder-flexion"
	assert.NotContains(t, r.ChiefCautions(), OverSplitCaution)
	assert.Empty(t, (&Reading{}).ChiefCautions())
}

// bentLeap returns a split to the right whose back shank is turned by so many degrees towards the trunk's
// side: the back ankle alone moves.
func bentLeap(bend float64, knees bool) *Marks {
	sin, cos := math.Sincos(bend * math.Pi / 180)
	m := &Marks{Facing: "right", Marks: []Placement{{Landmark: "hip", X: 960, Y: 540}, {Landmark: "shoulder", X: 960, Y: 340},
		{Landmark: "front-ankle", X: 1260, Y: 600}, {Landmark: "back-ankle", X: 810 - 150*cos, Y: 570 - 150*sin}}}
	if knees {
		m.Marks = append(m.Marks, Placement{Landmark: "front-knee", X: 1110, Y: 570}, Placement{Landmark: "back-knee", X: 810, Y: 570})
	}
	return m
}

// A bent back knee lifts the line of the whole leg and makes the split wider: if the knees are marked, the reading
// says so, with its deduction, and the thighs' angle is beside. If they are not, it is listed among the
// things not included.
func TestBentKnee(t *testing.T) {
	read40 := func(knees bool, rule *StraightLegs, facing string) *Reading {
		m := bentLeap(40, knees)
		m.Facing = facing
		q := request(t, m)
		s := *q.Skill
		s.StraightLegs = rule
		q.Skill, q.Camera = &s, "squared"
		return read(t, q)
	}
	words := &StraightLegs{Rule: "made/bent-knees", Words: "slight 0.10, large 0.50"}
	degrees := &StraightLegs{Rule: "made/bent-legs", Bands: []BandProbability{{"", "0.1", 0, new(45.0), 0}, {"", "0.3", 45, nil, 0}}}

	r := read40(true, words, "right")
	require.Len(t, r.Knees, 2)
	front, back := r.Knees[0], r.Knees[1]
	assert.Equal(t, []string{"front", "back"}, []string{front.Leg, back.Leg})
	assert.False(t, front.Bent)
	assert.True(t, back.Bent)
	assert.InDelta(t, 40+180/math.Pi*math.Atan(0.2), back.BendDeg, 3) // the thigh drops by atan(30/150) below level
	require.NotNil(t, r.Thigh)
	assert.Less(t, r.Thigh.AngleDeg, r.AngleDeg-10, "the thighs open less than the ankles say")
	require.Len(t, r.BentWords(), 1)
	assert.Regexp(t, `^the back knee is bent \(over 99 % sure\), by 5\d(\.\d)?° ± \d+(\.\d)?°; made/bent-knees takes off slight 0\.10, large 0\.50, and names no degrees$`, r.BentWords()[0])
	assert.Len(t, r.KneeWords(), 3)
	for _, out := range r.NotIncluded {
		assert.NotContains(t, out, "knee")
	}

	assert.Regexp(t, `for it made/bent-legs takes off 0\.3 \(\d\d % sure|for it made/bent-legs takes off 0\.[13] \(`, read40(true, degrees, "right").BentWords()[0])
	assert.NotContains(t, read40(true, nil, "right").BentWords()[0], ";", "no rule, no deduction")
	assert.Contains(t, read40(true, nil, "").BentWords()[0], "bent, or past straight,", "which way is not known without facing")

	r = read40(false, words, "right")
	assert.Nil(t, r.Knees)
	assert.Nil(t, r.KneeWords())
	assert.Contains(t, r.NotIncluded, "whether a knee is bent, which made/bent-knees takes off by itself: mark front-knee and back-knee")
	assert.NotContains(t, fmt.Sprint(read40(false, nil, "right").NotIncluded), "knee", "the rule does not ask for straight legs")
}

// Marks of knees do not change the reading itself.
func TestKneesDoNotChangeTheReading(t *testing.T) {
	with, without := read(t, request(t, bentLeap(20, true))), read(t, request(t, bentLeap(20, false)))
	assert.Equal(t, without.AngleDeg, with.AngleDeg)
	assert.Equal(t, without.IntervalDeg, with.IntervalDeg)
	assert.Equal(t, without.Verdict, with.Verdict)
	assert.Equal(t, without.Budget, with.Budget)
}

// An angle that bodies do not reach is read only after a confirmation: a shoulder of 252 degrees, a
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
		_, hint := fault.Words(err, fault.Door{Option: func(name string) string { return "--" + name }})
		assert.Contains(t, hint, "--beyond")
		q.Beyond = true
		assert.InDelta(t, c.deg, read(t, q).AngleDeg, 2)
	}
}

// The bounds go round the full turn: an arm a little behind the trunk reads 350 and is reached.
func TestReachWrapsAround(t *testing.T) {
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
