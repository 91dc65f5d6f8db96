package chart

import (
	"math"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/reading"
)

// The samples are invented readings. Their numbers are set, not measured: the tests check
// the drawing.

// sample returns a reading of deg degrees with the standard uncertainty u, a normal density
// and a 95 % interval.
func sample(measure string, deg, u float64) *reading.Reading {
	r := &reading.Reading{
		Schema: reading.Schema, Measure: measure,
		AngleDeg: deg, StandardUncertaintyDeg: u, ExpandedUncertaintyDeg: 1.96 * u, Coverage: 0.95,
		IntervalDeg: [2]float64{deg - 1.96*u, deg + 1.96*u},
		Budget: []reading.BudgetRow{
			{Source: reading.SourceLandmark, StandardUncertaintyDeg: 0.5 * u, Share: 0.25},
			{Source: reading.SourceOblique, StandardUncertaintyDeg: 0.78 * u, Share: 0.61},
			{Source: reading.SourcePlacement, StandardUncertaintyDeg: 0.2 * u, Share: 0.04},
			{Source: "interaction", StandardUncertaintyDeg: -0.1 * u, Share: -0.01},
			{Source: reading.SourceDepth, StandardUncertaintyDeg: 0.332 * u, Share: 0.11},
			{Source: reading.SourceLens, StandardUncertaintyDeg: 0.001 * u, Share: 0},
		},
		NotIncluded: []string{"how much the athlete varies from one leap to the next", "a shutter that is open longer than 1/250 s"},
	}
	const bins = 240
	r.Density = reading.Density{FromDeg: deg - 5*u, StepDeg: 10 * u / bins}
	for i := range bins {
		z := (float64(i)+0.5)*10/bins - 5
		r.Density.Values = append(r.Density.Values, math.Exp(-z*z/2)/(u*math.Sqrt(2*math.Pi)))
	}
	return r
}

// skill adds a skill and its verdict. edges are the lower ends of the bands, in degrees
// short of the threshold; deductions are their names.
func skill(r *reading.Reading, title string, ask float64, atMost bool, edges []float64, deductions ...string) *reading.Reading {
	r.Skill = &reading.SkillRef{Rulebook: "halle-nord", Name: "sample", Title: title, ThresholdDeg: ask, AtMost: atMost, Provenance: "common-practice"}
	normal := func(x float64) float64 {
		return 0.5 * math.Erfc(-(x-r.AngleDeg)/(r.StandardUncertaintyDeg*math.Sqrt2))
	}
	below := func(x float64) float64 { // the probability that the shortfall is at most x
		if math.IsInf(x, 1) {
			return 1
		}
		if atMost {
			return normal(ask+x) - normal(-ask-x)
		}
		return 1 - normal(ask-x)
	}
	v := &reading.Verdict{Confidence: 0.95, MeetsProbability: below(edges[0]), ShortfallDeg: ask - r.AngleDeg}
	if atMost {
		v.ShortfallDeg = math.Abs(r.AngleDeg) - ask
	}
	for i, from := range edges {
		b := reading.BandProbability{Deduction: deductions[i], FromDeg: from}
		to := math.Inf(1)
		if i+1 < len(edges) {
			to = edges[i+1]
			b.ToDeg = &to
		}
		b.Probability = below(to) - below(from)
		v.Bands = append(v.Bands, b)
	}
	switch {
	case v.MeetsProbability >= v.Confidence:
		v.Decision = reading.Meets
	case 1-v.MeetsProbability >= v.Confidence:
		v.Decision = reading.Short
	default:
		v.Decision = reading.Undecided
	}
	r.Verdict = v
	return r
}

func leap(deg, u float64) *reading.Reading {
	return skill(sample("hip-split", deg, u), "split leap", 180, false, []float64{0, 20, 45}, "0.10", "0.30", "no value")
}

// takes returns readings on the given days of 2026, counted from 1 January.
func takes(side, state string, firstID int64, days []int, degs []float64, u float64) []change.Reading {
	var out []change.Reading
	ask := 180.0
	for i, d := range days {
		out = append(out, change.Reading{
			ID: firstID + int64(i), Day: time.Date(2026, 1, 1+d, 0, 0, 0, 0, time.UTC), Measure: "shoulder-flexion",
			Definition: "shoulder-hip and shoulder-wrist", Side: side, State: state, AngleDeg: degs[i], StandardDeg: u, AskedDeg: &ask,
		})
	}
	return out
}

func trend(t testing.TB, rs []change.Reading) *change.Trend {
	out, err := change.NewTrend(rs, change.Options{})
	require.NoError(t, err)
	return out
}

var (
	rightDays = []int{61, 75, 89, 104, 118, 131, 146, 160, 175}
	rightDegs = []float64{161.8, 163.4, 162.7, 165.2, 166.9, 165.8, 168.2, 167.6, 169.3}
	leftDegs  = []float64{165.1, 164.2, 166.0, 165.4, 166.3, 165.0, 166.8, 165.9, 166.4}
)

// monthsData returns one side over months, with some readings in other states.
func monthsData(t testing.TB) ChangeData {
	rs := takes("", "warm", 1, rightDays, rightDegs, 1.3)
	rs = append(rs, takes("", "cold", 100, []int{104, 160}, []float64{157.1, 161.5}, 1.5)...)
	rs = append(rs, takes("", "after", 200, []int{131}, []float64{170.2}, 1.4)...)
	return ChangeData{Who: "Wren", Trends: []*change.Trend{trend(t, rs)}, Readings: rs}
}

// reachData returns readings whose trend reaches the asked angle soon.
func reachData(t testing.TB) ChangeData {
	rs := takes("", "warm", 1, rightDays, rightDegs, 0.9)
	ask := 172.0
	for i := range rs {
		rs[i].AskedDeg = &ask
	}
	return ChangeData{Who: "Serin", Trends: []*change.Trend{trend(t, rs)}, Readings: rs}
}

// bendData returns a knee bend that decreases towards a maximum of 0.
func bendData(t testing.TB) ChangeData {
	rs := takes("", "", 1, rightDays, []float64{14.2, 13.1, 13.8, 11.9, 11.2, 10.6, 9.1, 9.4, 8.8}, 1.2)
	ask := 0.0
	for i := range rs {
		rs[i].Measure, rs[i].AskedDeg, rs[i].AtMost = "knee-bend", &ask, true
	}
	return ChangeData{Who: "Twite", Trends: []*change.Trend{trend(t, rs)}, Readings: rs}
}

// manyData returns 500 readings over two years.
func manyData(t testing.TB) ChangeData {
	var days []int
	var degs []float64
	for i := range 500 {
		days = append(days, i*7/5)
		degs = append(degs, 158+0.02*float64(i)+2*math.Sin(float64(i*i)))
	}
	rs := takes("", "warm", 1, days, degs, 1.5)
	return ChangeData{Who: "Knot", Trends: []*change.Trend{trend(t, rs)}, Readings: rs}
}

func sidesData(t testing.TB) ChangeData {
	left, right := takes("left", "warm", 1, rightDays, leftDegs, 1.3), takes("right", "warm", 50, rightDays, rightDegs, 1.3)
	return ChangeData{Who: "Merlin", Trends: []*change.Trend{trend(t, left), trend(t, right)}, Readings: append(left, right...)}
}

func stepsData(t testing.TB, sessions int) StepsData {
	var days []int
	var cold, warm, after []float64
	for i := range sessions {
		days = append(days, 104+14*i)
		cold = append(cold, 157.1+1.1*float64(i))
		warm = append(warm, 165.2+0.4*float64(i*i%7))
		after = append(after, 166.9+1.3*float64(i))
	}
	rs := takes("", "cold", 1, days, cold, 1.5)
	rs = append(rs, takes("", "warm", 100, days, warm, 1.3)...)
	rs = append(rs, takes("", "after", 200, days, after, 1.4)...)
	for i := range rs {
		rs[i].Session = rs[i].Day.Format("2006-01-02")
	}
	steps, err := change.Steps(rs, 0.95)
	require.NoError(t, err)
	ask := 180.0
	return StepsData{Who: "Wren", Measure: "shoulder-flexion", Steps: steps, AskedDeg: &ask}
}

func screenData(t testing.TB, passive, active, inSkill float64) ScreenData {
	var rs []change.Reading
	ask := 180.0
	for i, c := range []string{"passive", "active", "in-skill"} {
		deg := []float64{passive, active, inSkill}[i]
		if math.IsNaN(deg) {
			continue
		}
		rs = append(rs, change.Reading{ID: int64(i + 1), Day: time.Date(2026, 3, 4, 0, 0, 0, 0, time.UTC), Measure: "hip-split",
			Definition: "hip-ankle and hip-ankle", Condition: c, AngleDeg: deg, StandardDeg: []float64{1.4, 1.6, 2.1}[i], AskedDeg: &ask})
	}
	s, err := change.NewScreen(rs, change.ScreenOptions{Seed: 1})
	require.NoError(t, err)
	return ScreenData{Who: "Plover", Screen: s}
}

func squadData() SquadData {
	d := SquadData{Title: "Halle Nord", Day: "4 March 2026"}
	row := func(who, note string, deg, u float64, gap string) {
		d.Rows = append(d.Rows, SquadRow{Who: who, Note: note, Reading: leap(deg, u), Gap: gap})
	}
	row("Wren", "in the skill, warm", 162.4, 1.6, "use")
	row("Merlin", "in the skill, warm", 177.6, 2.6, "")
	row("Plover", "in the skill, warm", 184.2, 1.9, "")
	row("Siskin", "in the skill, warm", 151.0, 4.4, "control")
	row("Dunlin", "in the skill, cold", 158.3, 2.2, "range")
	row("Whimbrel of the far northern marsh & moor <b>", "in the skill, warm", 171.9, 1.4, "")
	row("Knot", "in the skill, warm", 179.0, 1.1, "")
	row("Linnet", "in the skill, warm", 131.5, 2.8, "range")
	row("Brambling", "passive, warm", 182.3, 0.9, "")
	row("Redpoll", "in the skill, warm", 166.2, 9.5, "")
	row("Serin", "in the skill, warm", 174.4, 1.8, "use")
	row("Twite", "in the skill, warm", 168.8, 1.5, "use")
	row("Dipper", "in the skill, warm", 180.9, 1.7, "")
	d.Rows = append(d.Rows,
		SquadRow{Who: "Rail", Reason: "no marks for the frame: leap_14.mp4 has none beside it"},
		SquadRow{Who: "Sanderling", Reason: "the take cannot be opened: \"leap_15.mov\" ends in the middle of a picture; it was perhaps not copied whole from the phone, so copy it again and run the squad once more"})
	return d
}

func agreementData(t testing.TB) AgreementData {
	// invented: a second rater who reads about half a degree less
	first := []float64{162.1, 155.4, 171.0, 148.2, 166.6, 159.9, 175.3, 169.2, 152.7, 163.8, 178.1, 157.5}
	off := []float64{0.9, -0.4, 1.6, 0.2, 0.7, 1.1, -0.8, 0.5, 1.3, -0.1, 0.8, 0.4}
	second := make([]float64, len(first))
	for i := range first {
		second[i] = first[i] - off[i]
	}
	a, err := change.NewAgreement(first, second)
	require.NoError(t, err)
	return AgreementData{First: "Anna", Second: "Jonas", Agreement: a}
}

// plans are the plans of the tests, each made once: making one draws thousands of courses of readings.
var plans = map[float64]func() (*change.Plan, error){10: plan(10), 1: plan(1)}

// plan makes, when it is first asked for, a plan of four set-ups over half a year for a change of deg degrees.
func plan(deg float64) func() (*change.Plan, error) {
	return sync.OnceValues(func() (*change.Plan, error) {
		var setups []change.Setup
		for k, name := range []string{"camera as it stands, landmarks seen", "camera by eye, 5 m off, landmarks seen", "camera squared, 5 m off, landmarks felt", "camera squared, 5 m off, stickers"} {
			setups = append(setups, change.Setup{Name: name, Reading: change.Reading{Measure: "hip-split", StandardDeg: 6 - 1.2*float64(k), Sources: map[string]float64{"placement": 1, "landmark": 2}}})
		}
		return change.NewPlan(setups, change.PlanOptions{ChangeDeg: deg, From: time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC), By: time.Date(2026, 11, 20, 0, 0, 0, 0, time.UTC)})
	})
}

// planData returns one of the plans.
func planData(t testing.TB, who string, deg float64) PlanData {
	p, err := plans[deg]()
	require.NoError(t, err)
	return PlanData{Title: "hip split", Who: who, Plan: p}
}

// groupData returns a group of athletes over three months; one of them has a long name.
func groupData(t testing.TB, athletes int, lately bool) GroupData {
	var rs []change.Reading
	for k := range athletes {
		for m := range 4 {
			day := time.Date(2026, time.Month(3+m), 4+k%9, 0, 0, 0, 0, time.UTC)
			if !lately && m == 2 {
				continue
			}
			who := string(rune('A'+k%26)) + " of the hall"
			if k == 1 {
				who = "Whimbrel of the far northern marsh & moor <b>"
			}
			rs = append(rs, change.Reading{ID: int64(len(rs) + 1), Athlete: who + string(rune('a'+k/26)), Day: day, Measure: "hip-split", Definition: "hip-ankle and hip-ankle",
				State: "warm", Condition: "active", Side: "left", Rater: "Iris", Setup: "wall", StandardDeg: 1.5, AngleDeg: 160 + float64(m)*float64(k%7-1) + float64(k*m%3)})
		}
	}
	g, err := change.NewGroup(rs, change.GroupOptions{})
	require.NoError(t, err)
	return GroupData{Title: "monday", Group: g}
}
