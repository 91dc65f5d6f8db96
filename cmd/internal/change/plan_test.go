package change

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/trial/season"
)

// seasonSetup is a set-up whose readings are as uncertain as a made season's.
func seasonSetup() Setup {
	rs := fromSeason(season.Make(season.Plan{Days: 1, Takes: 1, Named: true}, rand.New(rand.NewPCG(1, 1))))
	return Setup{Name: "as made", Reading: rs[0]}
}

// foundIn is the share of made seasons in which a change of deg degrees from the first day
// to the last is found.
func foundIn(t *testing.T, seasons int, p season.Plan, deg float64, seed uint64) float64 {
	found := 0
	rnd := rand.New(rand.NewPCG(2026, seed))
	for range seasons {
		readings := season.Make(p, rnd)
		rs := fromSeason(readings)
		first, whole := rs[0].Day, rs[len(rs)-1].Day.Sub(rs[0].Day)
		for i := range rs { // a season's days are 21 apart, give or take four: the change is that of all of them
			rs[i].AngleDeg += deg * float64(rs[i].Day.Sub(first)) / float64(whole)
		}
		if got := trendOf(t, rs); got.Real && got.ChangeDeg > 0 {
			found++
		}
	}
	return float64(found) / float64(seasons)
}

// The change that is planned for is found in the promised share of made seasons, which share
// no code with the plan, with errors that stay the same.
func TestPlannedChangeIsFound(t *testing.T) {
	const seasons, chance = 300, 0.8
	setup := seasonSetup()
	for _, p := range []struct {
		days, takes int
		day, take   float64
	}{{2, 1, 3, 2}, {3, 2, 2, 2}, {5, 1, 3, 2}, {5, 3, 3, 2}, {9, 3, 2, 1}, {9, 1, 5, 2}} {
		c := newCourse(&setup.Reading, p.days, p.takes, season.DaysBetween, p.take, 0.95)
		deg := c.smallestFound(chance, variation{{sd: p.day, weight: 1}})
		share := foundIn(t, seasons, season.Plan{Days: p.days, Takes: p.takes, DayDeg: p.day, TakeDeg: p.take, Named: true}, deg, uint64(10*p.days+p.takes))
		t.Logf("%d days, %d takes, %g° from day to day: %.1f° is found in %.0f %% of seasons", p.days, p.takes, p.day, deg, 100*share)
		assert.InDelta(t, chance, share, 0.07) // three standard deviations of 80 % of 300
	}
}

// More takes, more days and a better set-up find smaller changes.
func TestPlanOrders(t *testing.T) {
	setup := seasonSetup()
	worse := setup
	worse.Name, worse.Reading.StandardDeg = "worse", 2*setup.Reading.StandardDeg
	worse.Reading.Sources = map[string]float64{}
	for s, u := range setup.Reading.Sources {
		worse.Reading.Sources[s] = 2 * u
	}
	from := time.Date(2026, 11, 29, 0, 0, 0, 0, time.UTC)
	steady := 1.5
	p, err := NewPlan([]Setup{worse, setup}, PlanOptions{ChangeDeg: 9, From: from, By: from.AddDate(0, 4, 0), DayDeg: &steady})
	require.NoError(t, err)
	assert.Contains(t, p.Notes, "of 100 athletes who change by exactly this much, 80 are found and 20 are missed")
	at := map[string]map[[2]int]PlanWay{"worse": {}, "as made": {}}
	for _, w := range p.Ways {
		at[w.Setup][[2]int{w.Takes, w.Every}] = w
		assert.Equal(t, w.Finds, w.FoundDeg <= 9, "%+v", w)
		if w.Finds {
			assert.LessOrEqual(t, p.Best.Days*p.Best.Takes, w.Days*w.Takes, "no other takes less work")
		}
	}
	const chance = 0.01 // tolerance of the search for the smallest change, degrees
	for key, w := range at["as made"] {
		assert.LessOrEqual(t, w.FoundDeg, at["worse"][key].FoundDeg+chance)
		assert.LessOrEqual(t, w.FoundDeg, at["as made"][[2]int{1, key[1]}].FoundDeg+chance)
		assert.LessOrEqual(t, at["as made"][[2]int{key[0], 7}].FoundDeg, w.FoundDeg+chance)
	}
	assert.Equal(t, "as made", p.Best.Setup)
	assert.Contains(t, p.Sentence, "a change of 9° by 29 March 2027 would be found in ")
	p, err = NewPlan([]Setup{worse}, PlanOptions{ChangeDeg: 1, From: from, By: from.AddDate(0, 1, 0), DayDeg: &steady})
	require.NoError(t, err)
	assert.Nil(t, p.Best)
	assert.Contains(t, p.Sentence, "by any of these ways")
	_, err = NewPlan([]Setup{worse}, PlanOptions{ChangeDeg: 1, From: from, By: from.AddDate(0, 0, 3)})
	assert.ErrorContains(t, err, "no time for a second day")
	_, err = NewPlan([]Setup{worse}, PlanOptions{ChangeDeg: 1, From: from, By: from.AddDate(9, 0, 0)})
	assert.ErrorContains(t, err, "more than two years", "27 days a month apart are two years")
}
