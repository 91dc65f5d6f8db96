package change

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/trial/season"
)

// states makes cold and warm of a season's conditions.
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
