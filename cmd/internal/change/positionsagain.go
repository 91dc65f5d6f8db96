package change

import (
	"fmt"
	"slices"

	"ecart/cmd/internal/movement"
)

// ContrastAgain says how an undecided contrast could be decided: by how many more takes in which position, made like the last
// one there and on the same day.
type ContrastAgain struct {
	Variant string `json:"variant"` // in which to make more takes
	Takes   int    `json:"takes"`   // how many more; 0: mostAgain takes like these do not decide it
}

func (a *ContrastAgain) say(measure string) string {
	if a.Takes == 0 {
		return fmt.Sprintf("%s like these would not tell which way it goes: the difference looks too small for their error, part of which does not average out", plural(mostAgain, "more take", "more takes"))
	}
	return fmt.Sprintf("%s with %s would tell which way it goes, if the difference is as large as it looks", plural(a.Takes, "more take", "more takes"), movement.VariantWords(measure, a.Variant))
}

// takesToDecide finds the position in which the fewest further takes, each like the last one there, show which way a
// difference of deg goes, if it is as large as that. How much takes vary is taken from those there are.
func takesToDecide(taut, slack []Reading, deg, coverage float64) *ContrastAgain {
	all := slices.Concat(taut, slack)
	v := takeVariation(all, newErrorModel(all), [][]int{span(0, len(taut)), span(len(taut), len(all))})
	for n := 1; n <= mostAgain; n++ {
		best, most := "", coverage
		for _, more := range []string{slack[0].Variant, taut[0].Variant} {
			a, b := taut, slack
			if more == taut[0].Variant {
				a = withMore(taut, n)
			} else {
				b = withMore(slack, n)
			}
			all := slices.Concat(a, b)
			missed := missedVariance(all, span(0, len(a))) + missedVariance(all, span(len(a), len(all)))
			d := newDifference(all, len(a), v, 1/float64(len(a))+1/float64(len(b)), missed, coverage)
			if p := d.of.above(deg); p >= most {
				best, most = more, p
			}
		}
		if best != "" {
			return &ContrastAgain{best, n}
		}
	}
	return &ContrastAgain{Variant: slack[0].Variant}
}

// withMore is the takes with the last one repeated.
func withMore(rs []Reading, n int) []Reading {
	return slices.Concat(rs, slices.Repeat(rs[len(rs)-1:], n))
}
