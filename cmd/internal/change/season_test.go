package change

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/trial/season"
)

// monday is the first day of the tests' months.
var monday = season.Start

// fromSeason converts a simulated season.
func fromSeason(rs []season.Reading) (out []Reading) {
	for i, r := range rs {
		out = append(out, Reading{ID: int64(i + 1), Day: r.Day, Measure: "hip-split", Definition: "hip-ankle and hip-ankle", Side: r.Side, State: "warm", Condition: r.Condition,
			Rater: r.Rater, Setup: r.Setup, AngleDeg: r.AngleDeg, StandardDeg: r.StandardDeg, Sources: r.Sources})
	}
	return out
}

// athletes is how many seasons each row counts, so that a share of 5 % is good to 1.3
// percentage points (one standard deviation). The study "seasons" of cover counts
// more of them, in more rows.
const athletes = 300

// chance is three standard deviations of a share of 5 % of the athletes.
const chance = 0.038

func count(t *testing.T, seed uint64, p season.Plan, hit func([]season.Reading, []Reading) bool) float64 {
	t.Helper()
	rnd := rand.New(rand.NewPCG(2026, seed))
	n := 0
	for range athletes {
		readings := season.Make(p, rnd)
		if hit(readings, fromSeason(readings)) {
			n++
		}
	}
	return float64(n) / athletes
}

func trendOf(t *testing.T, rs []Reading) *Trend {
	t.Helper()
	got, err := NewTrend(rs, Options{})
	require.NoError(t, err)
	return got
}

// A day's mean holds the athlete's angle of that day, though errors are common to its
// takes, whether rater and set-up are named or not.
func TestLevelOfADayHolds(t *testing.T) {
	for _, takes := range []int{1, 3, 10} {
		for _, named := range []bool{true, false} {
			share := count(t, 1, season.Plan{Days: 1, Takes: takes, Named: named}, func(readings []season.Reading, rs []Reading) bool {
				d := trendOf(t, rs).Days[0]
				return d.IntervalDeg[0] <= readings[0].DayTrueDeg && readings[0].DayTrueDeg <= d.IntervalDeg[1]
			})
			t.Logf("%d takes, named %v: %.1f %%", takes, named, 100*share)
			assert.Greater(t, share, 0.95-chance)
			if named {
				assert.Less(t, share, 0.95+chance)
			}
		}
	}
}

// The line holds the athlete's angle on the last of seven days.
func TestLineOnTheLastDayHolds(t *testing.T) {
	for _, named := range []bool{true, false} {
		share := count(t, 2, season.Plan{Days: 7, Takes: 1, SlopeDeg: 1, DayDeg: 2, Named: named}, func(readings []season.Reading, rs []Reading) bool {
			truth := readings[len(readings)-1].LineTrueDeg
			_, low, high := trendOf(t, rs).Line.At(readings[len(readings)-1].Day)
			return low <= truth && truth <= high
		})
		t.Logf("named %v: %.1f %%", named, 100*share)
		assert.Greater(t, share, 0.95-chance)
	}
}

// Of athletes whose two sides are equal at most 5 % are said to differ.
func TestEqualSidesAreNotCalledUnequal(t *testing.T) {
	for _, days := range []int{1, 6} {
		for _, takes := range []int{1, 3} {
			for _, named := range []bool{true, false} {
				share := count(t, 3, season.Plan{Days: days, Takes: takes, DayDeg: 2, TakeDeg: 2, Sides: []string{"left", "right"}, Named: named}, func(_ []season.Reading, rs []Reading) bool {
					a, err := Sides(rs, 0.95)
					require.NoError(t, err)
					return a.Real
				})
				t.Logf("%d days, %d takes, named %v: %.1f %%", days, takes, named, 100*share)
				assert.Less(t, share, 0.05+chance)
			}
		}
	}
}

// Of athletes who do not change at most 5 % are called changed, whatever they vary by
// from day to day.
func TestUnchangedAthletesAreNotCalledChanged(t *testing.T) {
	for _, dayDeg := range []float64{2, 5} {
		for _, days := range []int{2, 5} {
			for _, takes := range []int{1, 3} {
				for _, named := range []bool{true, false} {
					share := count(t, 4, season.Plan{Days: days, Takes: takes, DayDeg: dayDeg, TakeDeg: 1, Named: named}, func(_ []season.Reading, rs []Reading) bool {
						return trendOf(t, rs).Real
					})
					t.Logf("%g from day to day, %d days, %d takes, named %v: %.1f %%", dayDeg, days, takes, named, 100*share)
					assert.Less(t, share, 0.05+chance, fmt.Sprint(dayDeg, days, takes, named))
				}
			}
		}
	}
}

// The slope's interval contains the true slope, and the interval of days contains the day on which
// the athlete reaches the angle asked, at least as often as a 95 % interval has to.
func TestSlopeAndReachHold(t *testing.T) {
	const slope = 2.0
	asked := 180.0
	day := monday.AddDate(0, 0, int(math.Ceil(30/slope*month)))
	share := count(t, 5, season.Plan{Days: 8, Takes: 1, SlopeDeg: slope, DayDeg: 2, Named: true}, func(_ []season.Reading, rs []Reading) bool {
		i := trendOf(t, rs).Line.SlopeIntervalDeg
		return i[0] <= slope && slope <= i[1]
	})
	t.Logf("slope %.1f %%", 100*share)
	assert.Greater(t, share, 0.95-chance)
	ruledOut := count(t, 6, season.Plan{Days: 8, Takes: 1, SlopeDeg: slope, DayDeg: 2, Named: true}, func(_ []season.Reading, rs []Reading) bool {
		got, err := NewTrend(rs, Options{AskedDeg: &asked})
		require.NoError(t, err)
		r := got.Reach
		switch r.Status {
		case Coming:
			return r.From.After(day) || r.To != nil && r.To.Before(day)
		case Near, CannotTell:
			return false
		}
		return true
	})
	t.Logf("the day ruled out %.1f %%", 100*ruledOut)
	assert.Less(t, ruledOut, 0.05+chance)
}
