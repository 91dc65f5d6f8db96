package main

import (
	"fmt"
	"math/rand/v2"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/trial/season"
)

// group are how the athletes of a row's groups are made.
type group struct {
	athletes int
	slopeDeg float64 // mean change a month
	differs  float64 // its standard deviation between athletes, degrees a month
}

// countGroups counts hits over groups of made athletes.
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

// makeGroup makes the readings of a group and the mean change of such athletes over the
// days that theirs span, degrees.
func makeGroup(p season.Plan, g group, rnd *rand.Rand) (rs []change.Reading, mean float64) {
	slopes := make([]float64, g.athletes)
	for k := range slopes {
		slopes[k] = g.slopeDeg + g.differs*rnd.NormFloat64()
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

// groupRows are the statements about groups. A row counts as many groups as make its number of
// athletes.
func groupRows() (rows []seasonRow) {
	for _, named := range []bool{true, false} {
		for _, athletes := range []int{4, 12} {
			for _, raters := range []int{1, 2} {
				of := fmt.Sprintf("%d athletes, 5 days, %s", athletes, plural(raters, "rater"))
				plan := season.Plan{Days: 5, Takes: 1, DayDeg: 3, Raters: raters, Setups: raters, Named: named}
				rows = append(rows,
					seasonRow{Statement: "the mean change of a group holds", Case: of, Named: named, Least: leastSaid, plan: plan, group: group{athletes, 1, 1},
						hitGroup: func(rs []change.Reading, mean float64) (bool, error) {
							g, err := change.NewGroup(rs, change.GroupOptions{})
							return err == nil && within(g.Mean.IntervalDeg, mean), err
						}},
					seasonRow{Statement: "an unchanged group is called changed", Case: of, Named: named, Most: mostFalse, plan: plan, group: group{athletes, 0, 1},
						hitGroup: func(rs []change.Reading, _ float64) (bool, error) {
							g, err := change.NewGroup(rs, change.GroupOptions{})
							return err == nil && g.Mean.Real, err
						}},
					seasonRow{Statement: "one of an unchanged group is called surely changed", Case: of, Named: named, Most: mostFalse, plan: plan, group: group{athletes, 0, 0},
						hitGroup: func(rs []change.Reading, _ float64) (bool, error) {
							g, err := change.NewGroup(rs, change.GroupOptions{})
							if err != nil {
								return false, err
							}
							for _, m := range g.Members {
								if m.Among {
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
