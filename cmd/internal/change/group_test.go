package change

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/trial/season"
)

// randomSquad simulates athletes with the same raters and cameras. slope is their mean change a month,
// degrees, and differs its standard deviation between them.
func randomSquad(rnd *rand.Rand, athletes int, p season.Plan, slope, differs float64) (rs []Reading) {
	slopes := make([]float64, athletes)
	for k := range slopes {
		slopes[k] = slope + differs*rnd.NormFloat64()
	}
	for k, one := range season.Squad(p, slopes, rnd) {
		for _, r := range fromSeason(one) {
			r.Athlete, r.ID = fmt.Sprint("athlete ", k), int64(len(rs)+1)
			rs = append(rs, r)
		}
	}
	return rs
}

// An unchanged group is called changed in 5 of 100 cases at most, also where another
// rater came in for all. The study "seasons" of cover counts more of them.
func TestUnchangedGroupIsNotCalledChanged(t *testing.T) {
	for _, raters := range []int{1, 2} {
		called := 0
		const groups = 60
		rnd := rand.New(rand.NewPCG(2026, uint64(raters)))
		for range groups {
			g, err := NewGroup(randomSquad(rnd, 8, season.Plan{Days: 4, Takes: 1, DayDeg: 3, Raters: raters, Named: true}, 0, 1), GroupOptions{})
			require.NoError(t, err)
			require.Equal(t, 8, g.Mean.Athletes)
			if g.Mean.Real {
				called++
			}
		}
		t.Logf("%d raters: called changed %d of %d", raters, called, groups)
		assert.LessOrEqual(t, called, 8) // 3 are expected, and 5 more are three standard deviations
	}
}

// twoDays are readings of athletes on two days, with the given changes, degrees; more sets further fields.
func twoDays(changes []float64, more func(k, day int, r *Reading)) (rs []Reading) {
	for k, c := range changes {
		for day := range 2 {
			r := Reading{ID: int64(len(rs) + 1), Athlete: fmt.Sprint("athlete ", k), Day: monday.AddDate(0, 0, 60*day), Measure: "hip-split", Definition: "hip-ankle and hip-ankle",
				State: "warm", Condition: "active", AngleDeg: 160 + c*float64(day), StandardDeg: 3, Sources: map[string]float64{"landmark": 3}}
			if more != nil {
				more(k, day, &r)
			}
			rs = append(rs, r)
		}
	}
	return rs
}

// A change is the same sum of weights times readings as the trend's own.
func TestContrastIsTheTrendsChange(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	for _, days := range []int{2, 3, 4, 7} {
		rs := fromSeason(season.Make(season.Plan{Days: days, Takes: 2, SlopeDeg: 1, DayDeg: 2, Named: true}, rnd))
		trend := trendOf(t, rs)
		c := trend.firstToLast()
		assert.InDelta(t, trend.ChangeDeg, c.deg, 1e-9, "%d days", days)
		var sum, zero float64
		for i, w := range c.w {
			sum += w * c.readings[i].AngleDeg
			zero += w
		}
		assert.InDelta(t, c.deg, sum, 1e-9)
		assert.InDelta(t, 0, zero, 1e-9, "a constant error of all cancels")
		assert.InDelta(t, trend.SmallestDeg, c.spread.half(0.95), 0.35*trend.SmallestDeg)
	}
}

// A rater's constant error that came in between the days is every athlete's: more athletes
// do not average it out. One rater throughout cancels. Raters that nobody named are taken
// as the worse of the two.
func TestSharedErrorsDoNotAverageOut(t *testing.T) {
	changes := make([]float64, 40)
	for k := range changes {
		changes[k] = 3 + math.Mod(float64(k)*0.618, 1)
	}
	pooled := func(rater func(day int) string) *Pooled {
		g, err := NewGroup(twoDays(changes, func(_, day int, r *Reading) { r.Side, r.Rater = "left", rater(day) }), GroupOptions{})
		require.NoError(t, err)
		return g.Mean
	}
	one := pooled(func(int) string { return "Iris" })
	two := pooled(func(day int) string { return []string{"Iris", "Lio"}[day] })
	none := pooled(func(int) string { return "" })
	assert.Zero(t, one.CommonDeg)
	// half of the landmark's variance of 9 is the rater's, on either day: sqrt(4.5 + 4.5)
	assert.InDelta(t, 3, two.CommonDeg, 1e-9)
	assert.InDelta(t, 3, none.CommonDeg, 1e-9)
	assert.Greater(t, none.SmallestDeg, one.SmallestDeg)
	assert.GreaterOrEqual(t, none.SmallestDeg, two.SmallestDeg-1e-9)
	assert.True(t, one.Real)
	assert.False(t, two.Real, "3.5 on the mean is less than 1.96 times 3")
}

func TestWaysOfAGroup(t *testing.T) {
	rs := twoDays([]float64{30, -30, 0, 5}, func(_, _ int, r *Reading) { r.Rater, r.Setup, r.Side, r.StandardDeg = "Iris", "wall", "left", 0.5 })
	g, err := NewGroup(rs, GroupOptions{WorthDeg: 25})
	require.NoError(t, err)
	var names []string
	for _, m := range g.Members {
		names = append(names, m.Athlete+" "+string(m.Class))
	}
	assert.Equal(t, []string{"athlete 0 goes-on", "athlete 3 stands-still", "athlete 2 stands-still", "athlete 1 falls-back"}, names)
	assert.True(t, g.Members[0].RealAmongAll)
	g, err = NewGroup(rs, GroupOptions{})
	require.NoError(t, err)
	assert.Equal(t, NotKnown, g.Members[1].Class, "5 ± 17 is neither real nor within 5")
	assert.Nil(t, g.Month, "the days are two months apart")

	less, err := NewGroup(rs, GroupOptions{Options: Options{AskedDeg: new(float64), AtMost: true}})
	require.NoError(t, err)
	assert.Equal(t, GoesOn, less.Members[0].Class)
	assert.Equal(t, "athlete 1", less.Members[0].Athlete, "less is asked: who went down most comes first")

	g, err = NewGroup(rs, GroupOptions{Nameless: true})
	require.NoError(t, err)
	assert.Equal(t, "A", g.Members[0].Athlete)
	assert.NotContains(t, fmt.Sprint(g), "athlete 0")
}

// Of kinds of readings, that of most athletes is taken, and nobody is left out silently.
func TestKindOfAGroup(t *testing.T) {
	rs := twoDays([]float64{5, 6, 7, 8}, func(k, day int, r *Reading) {
		if k == 2 {
			r.State = "cold"
		}
		if k == 3 && day == 1 {
			r.Day = monday
		}
	})
	g, err := NewGroup(rs, GroupOptions{})
	require.NoError(t, err)
	assert.Equal(t, 2, g.Mean.Athletes)
	assert.Equal(t, []NotIn{{"athlete 2", "read only as active, cold"}, {"athlete 3", "read on one day only"}}, g.LeftOut)
	_, err = NewGroup(rs[:1], GroupOptions{})
	assert.ErrorContains(t, err, "nobody was read alike on two days")
	one, err := NewGroup(rs[:2], GroupOptions{})
	require.NoError(t, err)
	assert.Nil(t, one.Mean)
	assert.Equal(t, "only one athlete has a change: a mean takes two", one.Sentence)
}

// This month is compared with the last one, for those who were read in both.
func TestMonthAgainstLast(t *testing.T) {
	var rs []Reading
	for k := range 4 {
		for i, day := range []string{"2026-03-05", "2026-04-07", "2026-04-21", "2026-05-12"} {
			if k == 3 && i > 0 && i < 3 {
				continue // not read in April
			}
			at, err := time.Parse(time.DateOnly, day)
			require.NoError(t, err)
			rs = append(rs, Reading{ID: int64(len(rs) + 1), Athlete: fmt.Sprint("athlete ", k), Day: at, Measure: "hip-split", Definition: "d", State: "warm", Condition: "active", Side: "left",
				Rater: "Iris", Setup: "wall", AngleDeg: []float64{150, 160, 162, 167}[i], StandardDeg: 1, Sources: map[string]float64{"placement": 1}})
		}
	}
	g, err := NewGroup(rs, GroupOptions{})
	require.NoError(t, err)
	require.NotNil(t, g.Month)
	assert.Equal(t, []string{"athlete 0", "athlete 1", "athlete 2"}, g.Month.Names)
	assert.InDelta(t, 6, g.Month.MeanDeg, 1e-9, "167 less the mean of 160 and 162")
	assert.Contains(t, g.Month.Words(), "May 2026 against April 2026: the mean change of 3 athletes is +6.0° ± ")
}
