package change

import (
	"fmt"
	"math"
	"slices"
)

// Again says how a gap that is not shown could be shown: by how many more takes, in which
// condition, made like the last take there.
type Again struct {
	Gap       string `json:"gap"`
	Condition string `json:"condition"` // in which to make more takes
	Takes     int    `json:"takes"`     // how many more; 0: more takes like these cannot show it, since their common error does not average out
}

func (a Again) say() string {
	if a.Takes == 0 {
		return fmt.Sprintf("more takes like these would not show whether there is a %s gap: what they have in common does not average out", a.Gap)
	}
	return fmt.Sprintf("whether there is a %s gap: %s %s would tell, if it is as large as it looks", a.Gap, plural(a.Takes, "more take", "more takes"), a.Condition)
}

// mostAgain is the largest number of further takes to suggest for one day.
const mostAgain = 6

// suggestTakes finds, for each gap that is not shown, the condition in which the fewest
// further takes would show it if it is as large as estimated, and appends it to s.Again.
// Gaps at or below 0 get no suggestion. take is the variance from take to take,
// degrees^2.
func (s *Screen) suggestTakes(like []Reading, levels [][]int, take, coverage float64) {
	day := dayDeviation(like)
	for _, g := range s.Gaps {
		if g.Shown || g.Deg <= 0 {
			continue
		}
		from, to := slices.Index(conditions, g.From), slices.Index(conditions, g.To) // -1: the angle asked
		_, missed := missedMean(like, levels[to])                                    // further takes do not reduce it
		best := Again{Gap: g.Name, Condition: g.To}
		for n := 1; n <= mostAgain && best.Takes == 0; n++ {
			sd := math.Inf(1)
			for _, k := range []int{from, to} {
				if k < 0 {
					continue
				}
				if v := gapDeviation(like, levels, from, to, k, n, take, day); v < sd {
					sd = v
					best.Condition = conditions[k]
				}
			}
			if g.Deg-missed >= oneSided(coverage)*sd {
				best.Takes = n
			}
		}
		s.Again = append(s.Again, best)
		s.Notes = append(s.Notes, best.say())
	}
}

// oneSided is the one-sided normal quantile: a gap of so many standard deviations is above
// 0 with the probability coverage.
func oneSided(coverage float64) float64 { return normal(2*coverage - 1) }

// gapDeviation is the standard deviation, degrees, of the gap between two levels after n
// further takes in condition more, each like the last take there. take is the variance
// from take to take, degrees^2; day is the standard deviation of a level whose day is not
// known, degrees.
func gapDeviation(like []Reading, levels [][]int, from, to, more, n int, take, day float64) float64 {
	var rs []Reading
	var w []float64
	var varies float64
	for side, k := range [2]int{from, to} {
		if k < 0 {
			continue // the angle asked has no error
		}
		sign := 1 - 2*float64(side)
		of := pick(like, levels[k])
		for range n {
			if k == more {
				of = append(of, of[len(of)-1])
			}
		}
		for _, r := range of {
			rs, w = append(rs, r), append(w, sign/float64(len(of)))
		}
		varies += take/float64(len(of)) + day*day
	}
	return math.Sqrt(newErrorModel(rs).variance(w) + varies)
}
