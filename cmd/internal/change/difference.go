package change

import (
	"fmt"
	"math"
	"slices"

	"ecart/cmd/internal/text"
)

// Difference is the difference of an angle between two days, two states or two sides, each
// read once or several times.
type Difference struct {
	FromDeg     float64    `json:"from_deg"`
	ToDeg       float64    `json:"to_deg"`
	ChangeDeg   float64    `json:"change_deg"`                         // to minus from
	StandardDeg float64    `json:"change_standard_uncertainty_deg"`    // of the errors that the two do not share
	IntervalDeg [2]float64 `json:"change_interval_deg"`                // ChangeDeg - SmallestDeg to ChangeDeg + SmallestDeg
	SmallestDeg float64    `json:"smallest_real_change_deg"`           // half-width of the interval: 1.96 sqrt(u1^2 + u2^2) of the errors not shared, with the athlete's variation
	VariesDeg   float64    `json:"varies_deg"`                         // the athlete's variation included in the above, standard deviation; 0: the difference is that of the two takes, not of the athlete on two days
	AloneDeg    float64    `json:"smallest_if_nothing_was_shared_deg"` // the same if no error were shared
	Real        bool       `json:"real"`
	Shared      []Shared   `json:"shared"`   // common errors, which cancel in part; the largest first
	Cautions    []string   `json:"cautions"` // traits in which the two differ

	errorDist mixture // distribution of the error of ChangeDeg
}

// Shared is the common error of two readings from one source.
type Shared struct {
	Source      string  `json:"source"`
	When        string  `json:"alike_in"`
	StandardDeg float64 `json:"standard_uncertainty_deg"` // of the common part in each reading, which cancels in the difference
	Why         string  `json:"why"`
}

// Compare returns the difference between the means of two sets of readings of the same
// measure between the same lines. For one day, or for two athletes, it is the difference
// of the angles shown. For two days of one athlete it includes the variation from day to
// day.
func Compare(from, to []Reading, coverage float64) (*Difference, error) {
	if len(from) == 0 || len(to) == 0 {
		return nil, inputError("keep a reading for each", "there are not two readings to compare")
	}
	all := slices.Concat(from, to)
	if err := check(all); err != nil {
		return nil, err
	}
	for i := range all {
		if a, b := all[0].Definition, all[i].Definition; a != b {
			return nil, inputError("read one of them again with the same landmarks", "reading %d is between the lines %s and reading %d between %s", all[0].ID, a, all[i].ID, b)
		}
	}
	from, merged := onePerPicture(from)
	to, more := onePerPicture(to)
	all = slices.Concat(from, to)
	v, stateVariance := variation{{weight: 1}}, 0.0
	a, b := &from[0], &to[0]
	oneAthlete := a.Athlete == "" || b.Athlete == "" || a.Athlete == b.Athlete
	if oneAthlete && (a.AnyDay || b.AnyDay || !a.day().Equal(b.day())) {
		v, stateVariance = dayPrior(), unsaidState(a)+unsaidState(b)
	}
	missed := missedVariance(all, span(0, len(from))) + missedVariance(all, span(len(from), len(all)))
	d := newDifference(all, len(from), v, 2, stateVariance+missed, coverage)
	d.Cautions = slices.Concat(d.Cautions, merged, more)
	if note := MissedNote(all, "the difference allows for it"); note != "" {
		d.Cautions = append(d.Cautions, note)
	}
	for _, t := range []trait{byState, byCondition, byVariant, bySide, {"rater", func(r *Reading) string { return r.Rater }}, {"set-up", func(r *Reading) string { return r.Setup }}} {
		if c := unlike(t, from, to); c != "" {
			d.Cautions = append(d.Cautions, c)
		}
	}
	return d, nil
}

// newDifference returns the difference of the readings from index n on and those before. Its variance
// contains times the variance of v, and more, degrees^2.
func newDifference(all []Reading, n int, v variation, times, more, coverage float64) *Difference {
	m := newErrorModel(all)
	means := m.means([][]int{span(0, n), span(n, len(all))})
	d := &Difference{Shared: sharedBetween(all, n), Cautions: []string{}, VariesDeg: math.Sqrt(times*v.variance() + more)}
	w := make([]float64, len(all))
	var alone float64
	for side, sign := range []float64{-1, 1} {
		weights := make([]float64, len(all))
		for i := range all {
			weights[i] = means.At(side, i)
			w[i] += sign * weights[i]
		}
		alone += m.variance(weights)
	}
	for i := range all {
		d.FromDeg += means.At(0, i) * all[i].AngleDeg
		d.ToDeg += means.At(1, i) * all[i].AngleDeg
	}
	d.ChangeDeg = d.ToDeg - d.FromDeg
	d.errorDist = v.with(m.variance(w)+more, times)
	d.SmallestDeg, d.StandardDeg = d.errorDist.half(coverage), d.errorDist.sd()
	d.IntervalDeg = [2]float64{d.ChangeDeg - d.SmallestDeg, d.ChangeDeg + d.SmallestDeg}
	d.Real = math.Abs(d.ChangeDeg) > d.SmallestDeg
	d.AloneDeg = v.with(alone+more, times).half(coverage)
	return d
}

// span lists the indices from, ..., to-1.
func span(from, to int) (out []int) {
	for i := from; i < to; i++ {
		out = append(out, i)
	}
	return out
}

// sharedBetween lists the errors that the first readings of both sides certainly share.
func sharedBetween(all []Reading, n int) []Shared {
	out := []Shared{}
	for k := range rules {
		r := &rules[k]
		a, b := &all[0], &all[n]
		if r.fields(a) == nil || r.fields(b) == nil || compareFields(r.fields(a), r.fields(b)) != same {
			continue
		}
		if u := math.Sqrt(a.common(r) * b.common(r)); u > 0 {
			out = append(out, Shared{r.Source, r.When, u, r.Why})
		}
	}
	slices.SortStableFunc(out, func(a, b Shared) int {
		switch {
		case a.StandardDeg > b.StandardDeg:
			return -1
		case a.StandardDeg < b.StandardDeg:
			return 1
		}
		return 0
	})
	return out
}

// unlike is the caution if the two sides differ in a trait, or may differ; "" if they
// agree.
func unlike(t trait, from, to []Reading) string {
	a, b := values(t, from), values(t, to)
	if len(a) == 1 && len(b) == 1 && a[0] == b[0] {
		return ""
	}
	was, is := text.And(a), text.And(b)
	switch t.what {
	case "state":
		return fmt.Sprintf("unlike states: %s before, %s after; range differs by state, and what warming up adds fades within the hour", was, is)
	case "condition":
		return fmt.Sprintf("unlike conditions: %s before, %s after; they measure different things, so the difference is not a change", was, is)
	case "position":
		return fmt.Sprintf("unlike positions: %s before, %s after; they measure different things, so the difference is not a change", was, is)
	case "side":
		return fmt.Sprintf("unlike sides: %s before, %s after", was, is)
	}
	return fmt.Sprintf("%s: %s before, %s after; less of the error cancels", t.what, was, is)
}

// values lists the distinct values of a trait.
func values(t trait, rs []Reading) (out []string) {
	for i := range rs {
		if v := orUnsaid(t.value(&rs[i])); !slices.Contains(out, v) {
			out = append(out, v)
		}
	}
	return out
}
