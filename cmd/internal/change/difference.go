package change

import (
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/mat"

	"ecart/geometry/uncertainty"
)

// Difference is how an angle differs between two days, two states or two sides,
// each read once or several times.
type Difference struct {
	FromDeg     float64    `json:"from_deg"`
	ToDeg       float64    `json:"to_deg"`
	ChangeDeg   float64    `json:"change_deg"`                         // to minus from
	StandardDeg float64    `json:"change_standard_uncertainty_deg"`    // of what the two do not share
	IntervalDeg [2]float64 `json:"change_interval_deg"`                // change -+ the smallest that is real
	SmallestDeg float64    `json:"smallest_real_change_deg"`           // 1.96 sqrt(u1^2 + u2^2) over what is not shared
	AloneDeg    float64    `json:"smallest_if_nothing_was_shared_deg"` // the same with nothing shared
	Real        bool       `json:"real"`
	Shared      []Shared   `json:"shared"`   // what cancels in part, the largest first
	Cautions    []string   `json:"cautions"` // in what the two are not alike
}

// Shared is what two readings have in common of one source.
type Shared struct {
	Source      string  `json:"source"`
	When        string  `json:"alike_in"`
	StandardDeg float64 `json:"standard_uncertainty_deg"` // in each, and cancelling
	Why         string  `json:"why"`
}

// Compare is the difference of the mean of some readings from that of others, of
// the same measure between the same lines. It holds for the angles that were shown;
// how much an athlete varies from day to day is another matter: see DayToDay.
func Compare(from, to []Reading, coverage float64) (*Difference, error) {
	if len(from) == 0 || len(to) == 0 {
		return nil, fault("keep a reading for each", "there are not two readings to compare")
	}
	all := slices.Concat(from, to)
	if err := check(all); err != nil {
		return nil, err
	}
	for i := range all {
		if a, b := all[0].Definition, all[i].Definition; a != b {
			return nil, fault("read one of them again with the same landmarks", "reading %d is between the lines %s and reading %d between %s", all[0].ID, a, all[i].ID, b)
		}
	}
	d := difference(all, len(from), coverage)
	for _, t := range []trait{byState, byCondition, bySide, {"rater", func(r *Reading) string { return r.Rater }}, {"set-up", func(r *Reading) string { return r.Setup }}} {
		if c := unlike(t, from, to); c != "" {
			d.Cautions = append(d.Cautions, c)
		}
	}
	return d, nil
}

// difference of the readings from n on and those before it.
func difference(all []Reading, n int, coverage float64) *Difference {
	z := uncertainty.CoverageFactor(math.Inf(1), coverage)
	p := part(all)
	m := p.means([][]int{span(0, n), span(n, len(all))})
	angles := make([]float64, len(all))
	for i := range all {
		angles[i] = all[i].AngleDeg
	}
	var mean mat.VecDense
	mean.MulVec(m, mat.NewVecDense(len(all), angles))
	own, shared := p.through(m)
	both := func(v *mat.SymDense) float64 { return v.At(0, 0) + v.At(1, 1) - 2*v.At(0, 1) }
	d := &Difference{FromDeg: mean.AtVec(0), ToDeg: mean.AtVec(1), Shared: sharedBetween(all, n), Cautions: []string{}}
	d.ChangeDeg = d.ToDeg - d.FromDeg
	d.StandardDeg = math.Sqrt(math.Max(0, both(own)+both(shared)))
	d.SmallestDeg = z * d.StandardDeg
	d.IntervalDeg = [2]float64{d.ChangeDeg - d.SmallestDeg, d.ChangeDeg + d.SmallestDeg}
	d.Real = math.Abs(d.ChangeDeg) > d.SmallestDeg
	d.AloneDeg = z * math.Sqrt(own.At(0, 0)+shared.At(0, 0)+own.At(1, 1)+shared.At(1, 1))
	return d
}

func span(from, to int) (out []int) {
	for i := from; i < to; i++ {
		out = append(out, i)
	}
	return out
}

// sharedBetween names what the first of each side have in common.
func sharedBetween(all []Reading, n int) []Shared {
	out := []Shared{}
	for k := range rules {
		r := &rules[k]
		a, b := &all[0], &all[n]
		if r.key(a) == "" || r.key(a) != r.key(b) {
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

// unlike says in what the two are not alike, or not known to be.
func unlike(t trait, from, to []Reading) string {
	a, b := values(t, from), values(t, to)
	if len(a) == 1 && len(b) == 1 && a[0] == b[0] {
		return ""
	}
	was, is := list(a), list(b)
	switch t.what {
	case "state":
		return fmt.Sprintf("unlike states: %s before, %s after; range differs by state, and what warming up adds fades within the hour", was, is)
	case "condition":
		return fmt.Sprintf("unlike conditions: %s before, %s after; that is no change of one thing", was, is)
	case "side":
		return fmt.Sprintf("unlike sides: %s before, %s after", was, is)
	}
	return fmt.Sprintf("%s: %s before, %s after; less of the error cancels", t.what, was, is)
}

func values(t trait, rs []Reading) (out []string) {
	for i := range rs {
		if v := orUnsaid(t.of(&rs[i])); !slices.Contains(out, v) {
			out = append(out, v)
		}
	}
	return out
}

// Step is the difference between two states, or two sides, of one session.
type Step struct {
	Day     time.Time `json:"day"`
	Session string    `json:"session,omitempty"`
	From    string    `json:"from"` // state or side
	To      string    `json:"to"`
	Difference
}

// Steps are the differences within each session from cold to warm to after, of
// one side and condition; where warm is missing, from cold to after. They are
// before and after of a session, and say nothing about months.
func Steps(rs []Reading, coverage float64) ([]Step, error) {
	if err := check(rs); err != nil {
		return nil, err
	}
	groups := map[string][]Reading{}
	var order []string
	for _, r := range rs {
		g := session(&r) + "\x00" + name(&r, []trait{byDefinition, bySide, byCondition})
		if groups[g] == nil {
			order = append(order, g)
		}
		groups[g] = append(groups[g], r)
	}
	slices.Sort(order)
	var out []Step
	for _, g := range order {
		var last []Reading
		for _, state := range []string{"cold", "warm", "after"} {
			var now []Reading
			for _, r := range groups[g] {
				if r.State == state {
					now = append(now, r)
				}
			}
			if len(now) == 0 {
				continue
			}
			if last != nil {
				out = append(out, Step{now[0].day(), now[0].Session, last[0].State, state, *difference(slices.Concat(last, now), len(last), coverage)})
			}
			last = now
		}
	}
	return out, nil
}
