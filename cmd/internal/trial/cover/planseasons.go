package main

import (
	"fmt"
	"math/rand/v2"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/trial/season"
)

// What a promise of 8 in 10 cases may be off by: chance in the counting, and a season's own constant
// errors.
const leastFound, mostFound = 77.0, 83.0

// planRows are the promises of plans: of athletes who change by the smallest change that a
// plan says is found in 8 of 10 cases, how many are called changed.
func planRows() (rows []seasonRow) {
	for _, c := range []struct {
		days, takes int
		deg         float64
	}{{4, 1, 3}, {6, 3, 2}, {9, 1, 5}} {
		plan := season.Plan{Days: c.days, Takes: c.takes, DayDeg: c.deg, TakeDeg: 2, Named: true}
		made := season.Make(plan, rand.New(rand.NewPCG(1, 1)))
		deg, err := change.SmallestFound(asChange(made)[0], change.PlanOptions{DayDeg: &plan.DayDeg, TakeDeg: &plan.TakeDeg}, c.days, c.takes, season.DaysBetween)
		rows = append(rows, seasonRow{Statement: "a change planned to be found in 8 of 10 is found", Named: true, Least: leastFound, Most: mostFound, plan: plan,
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
