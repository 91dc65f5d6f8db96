package change

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/trial/season"
)

func TestSides(t *testing.T) {
	var rs []Reading
	add := func(day int, side string, angle float64) {
		r, _ := twoReadings()
		r.ID, r.Day, r.Side, r.AngleDeg = int64(len(rs)+1), monday.AddDate(0, 0, day), side, angle
		r.Rater, r.Setup, r.Lens, r.StandardDeg = "", "", "", 2
		rs = append(rs, r)
	}
	add(0, "left", 172)
	add(0, "right", 160)
	add(7, "left", 171)
	one, err := Sides(rs, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 12, one.MeanDeg, 1e-12)
	// the takes' errors, 8 degrees^2, with a take's variation of anything up to 5 degrees in each
	assert.InDelta(t, uniform(0, mostTakeDeg).with(8, 2).half(0.95), one.SmallestDeg, 1e-9)
	assert.Contains(t, one.Sentence, "left is more than right by 12")
	assert.Equal(t, []LeftOut{{3, "on its day only one side was read"}}, one.LeftOut)

	add(7, "right", 163)
	add(14, "left", 170)
	add(14, "right", 160)
	add(14, "", 150)
	got, err := Sides(rs, 0.95)
	require.NoError(t, err)
	require.Len(t, got.Days, 3)
	// differences 12, 8, 10: mean 10, with at least the takes' errors of 8 degrees^2 in each
	assert.InDelta(t, 10, got.MeanDeg, 1e-9)
	assert.Greater(t, got.SmallestDeg, 1.96*math.Sqrt(8.0/3))
	assert.Less(t, got.SmallestDeg, one.SmallestDeg, "three days tell more than one")
	assert.True(t, got.Real)
	assert.Contains(t, got.Sentence, "over three days")

	_, err = Sides(rs[:1], 0.95)
	require.ErrorContains(t, err, "no day on which")
}

func TestSteps(t *testing.T) {
	var rs []Reading
	add := func(day int, state string, angle float64) {
		r, _ := twoReadings()
		r.ID, r.Day, r.State, r.AngleDeg = int64(len(rs)+1), monday.AddDate(0, 0, day), state, angle
		rs = append(rs, r)
	}
	add(0, "after", 171)
	add(0, "cold", 160)
	add(0, "warm", 170)
	add(0, "warm", 172)
	add(7, "cold", 161)
	add(7, "after", 163)
	add(14, "warm", 175)
	add(14, "unknown", 150)
	got, err := Steps(rs, 0.95)
	require.NoError(t, err)
	var said []string
	for _, s := range got {
		said = append(said, fmt.Sprintf("%s %s-%s %.0f", s.Day.Format("2"), s.From, s.To, s.ChangeDeg))
	}
	assert.Equal(t, []string{"2 cold-warm 11", "2 warm-after 0", "9 cold-after 2"}, said)
	assert.True(t, got[0].Real)
	assert.False(t, got[2].Real)
}

// states turns a season's conditions into states.
func states(rs []Reading) []Reading {
	for i := range rs {
		rs[i].State, rs[i].Condition = rs[i].Condition, "active"
	}
	return rs
}

var coldAndWarm = []season.Condition{{Name: "cold"}, {Name: "warm", AddDeg: 5}}

// Five sessions of which none shows a warm-up are one effect that does, and its interval is
// narrower than that of each.
func TestWarmUpIsPooled(t *testing.T) {
	var rs []Reading
	for day, deg := range []float64{8.5, 10, 9, 9.5, 9.5} {
		for state, name := range []string{"cold", "warm"} {
			rs = append(rs, Reading{ID: int64(len(rs) + 1), Athlete: "Wren", Day: monday.AddDate(0, 0, 21*day), Measure: "shoulder-flexion", Definition: "d", State: name, Condition: "active", Side: "left",
				AngleDeg: 160 + deg*float64(state), StandardDeg: 3.5, Sources: map[string]float64{"placement": 3.5}})
		}
	}
	steps, err := Steps(rs, 0.95)
	require.NoError(t, err)
	require.Len(t, steps, 5)
	w, err := NewWarmUp(rs, 0.95)
	require.NoError(t, err)
	assert.Equal(t, 5, w.Sessions)
	assert.InDelta(t, 9.3, w.MeanDeg, 1e-9)
	assert.True(t, w.Real)
	for _, s := range steps {
		assert.False(t, s.Real, "%g ± %g", s.ChangeDeg, s.SmallestDeg)
		assert.Less(t, w.SmallestDeg, s.SmallestDeg)
	}
	// never less than the stated errors alone, 1.96 times 3.5 sqrt(2/5) degrees
	const rounding = 1e-6
	assert.Greater(t, w.SmallestDeg, normal(0.95)*3.5*math.Sqrt(2./5)-rounding)
	assert.Contains(t, w.Sentence, "cold to warm, five sessions, active, together: +9.3° ± ")

	none, err := NewWarmUp(rs[:2], 0.95)
	require.NoError(t, err)
	assert.Nil(t, none, "one session is its own step")
}

// The interval of the warm-up's effect holds it, whether rater and set-up are named or not.
func TestWarmUpHolds(t *testing.T) {
	for _, named := range []bool{true, false} {
		share := count(t, 8, season.Plan{Days: 5, Takes: 1, DayDeg: 3, TakeDeg: 1.5, Conditions: coldAndWarm, Named: named}, func(_ []season.Reading, rs []Reading) bool {
			w, err := NewWarmUp(states(rs), 0.95)
			require.NoError(t, err)
			return w.IntervalDeg[0] <= 5 && 5 <= w.IntervalDeg[1]
		})
		t.Logf("named %v: %.1f %%", named, 100*share)
		assert.Greater(t, share, 0.95-chance)
	}
}
