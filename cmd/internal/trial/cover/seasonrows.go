package main

import (
	"fmt"
	"math/rand/v2"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/trial/season"
)

// group says how the groups of a row are simulated.
type group struct {
	athletes int
	slopeDeg float64 // mean change a month
	slopeSD  float64 // its standard deviation between athletes, degrees a month
}

// countGroups counts hits over groups of simulated athletes.
func (r *seasonRow) countGroups(athletes int, rnd *rand.Rand) error {
	groups, n := max(1, athletes/r.group.athletes), 0
	for range groups {
		hit, err := r.hitGroup(makeGroup(r.plan, r.group, rnd))
		if err != nil {
			return fmt.Errorf("%s, %s: %w", r.Statement, r.Case, err)
		}
		if hit {
			n++
		}
	}
	r.Percent = 100 * float64(n) / float64(groups)
	return nil
}

// makeGroup simulates the readings of a group. mean is the expected change over the days
// that they span, degrees.
func makeGroup(p season.Plan, g group, rnd *rand.Rand) (rs []change.Reading, mean float64) {
	slopes := make([]float64, g.athletes)
	for k := range slopes {
		slopes[k] = g.slopeDeg + g.slopeSD*rnd.NormFloat64()
	}
	for k, one := range season.Squad(p, slopes, rnd) {
		for _, r := range asChange(one) {
			r.Athlete, r.ID = fmt.Sprint("athlete ", k), int64(len(rs)+1)
			rs = append(rs, r)
		}
		mean += g.slopeDeg * (season.Months(one[len(one)-1].Day) - season.Months(one[0].Day)) / float64(g.athletes)
	}
	return rs, mean
}

// groupRows returns the statements about groups. A row counts so many groups that they have its
// number of athletes together.
func groupRows() (rows []seasonRow) {
	for _, named := range []bool{true, false} {
		for _, athletes := range []int{4, 12} {
			for _, raters := range []int{1, 2} {
				name := fmt.Sprintf("%d athletes, 5 days, %s", athletes, plural(raters, "rater"))
				plan := season.Plan{Days: 5, Takes: 1, DayDeg: 3, Raters: raters, Setups: raters, Named: named}
				rows = append(rows,
					seasonRow{Statement: "the mean change of a group holds", Case: name, Named: named, Least: minHolds, plan: plan, group: group{athletes, 1, 1},
						hitGroup: func(rs []change.Reading, mean float64) (bool, error) {
							g, err := change.NewGroup(rs, change.GroupOptions{})
							return err == nil && within(g.Mean.IntervalDeg, mean), err
						}},
					seasonRow{Statement: "an unchanged group is called changed", Case: name, Named: named, Most: maxFalse, plan: plan, group: group{athletes, 0, 1},
						hitGroup: func(rs []change.Reading, _ float64) (bool, error) {
							g, err := change.NewGroup(rs, change.GroupOptions{})
							return err == nil && g.Mean.Real, err
						}},
					seasonRow{Statement: "one of an unchanged group is called surely changed", Case: name, Named: named, Most: maxFalse, plan: plan, group: group{athletes, 0, 0},
						hitGroup: func(rs []change.Reading, _ float64) (bool, error) {
							g, err := change.NewGroup(rs, change.GroupOptions{})
							if err != nil {
								return false, err
							}
							for _, m := range g.Members {
								if m.RealAmongAll {
									return true, nil
								}
							}
							return false, nil
						}})
			}
		}
	}
	return rows
}

// The accepted percentages for a promise of 8 in 10 cases: chance in the counting and a season's
// constant errors change it a little.
const minFound, maxFound = 77.0, 83.0

// planRows returns the rows about plans: a plan gives the smallest change that is found in 8 of 10
// cases. They count how many athletes with that change are called changed.
func planRows() (rows []seasonRow) {
	for _, c := range []struct {
		days, takes int
		deg         float64
	}{{4, 1, 3}, {6, 3, 2}, {9, 1, 5}} {
		plan := season.Plan{Days: c.days, Takes: c.takes, DayDeg: c.deg, TakeDeg: 2, Named: true}
		made := season.Make(plan, rand.New(rand.NewPCG(1, 1)))
		deg, err := change.SmallestFound(asChange(made)[0], change.PlanOptions{DayDeg: &plan.DayDeg, TakeDeg: &plan.TakeDeg}, c.days, c.takes, season.DaysBetween)
		rows = append(rows, seasonRow{Statement: "a change planned to be found in 8 of 10 is found", Named: true, Least: minFound, Most: maxFound, plan: plan,
			Case: fmt.Sprintf("%g° from day to day, %s, %s, %.1f°", c.deg, plural(c.days, "day"), plural(c.takes, "take"), deg),
			hit: func(readings []season.Reading, rs []change.Reading) (bool, error) {
				if err != nil {
					return false, err
				}
				first, whole := rs[0].Day, rs[len(rs)-1].Day.Sub(rs[0].Day)
				for i := range rs {
					rs[i].AngleDeg += deg * float64(rs[i].Day.Sub(first)) / float64(whole)
				}
				t, err := change.NewTrend(rs, change.Options{})
				return err == nil && t.Real && t.ChangeDeg > 0, err
			}})
	}
	return rows
}
