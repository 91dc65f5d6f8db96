package change

import (
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/mat"

	"ecart/geometry/uncertainty"
)

// Step is the difference between two states, or two sides, of one session.
type Step struct {
	Day     time.Time `json:"day"`
	Session string    `json:"session,omitempty"`
	From    string    `json:"from"` // state or side
	To      string    `json:"to"`
	Difference
}

// Steps returns the differences within each session from cold to warm and from warm to
// after, for one side and condition; from cold to after if warm is missing. They compare
// before and after within a session and say nothing about progress over months.
func Steps(rs []Reading, coverage float64) ([]Step, error) {
	if err := check(rs); err != nil {
		return nil, err
	}
	rs, _ = onePerPicture(ofOneAthlete(rs))
	groups := map[string][]Reading{}
	var order []string
	for _, r := range rs {
		g := session(&r) + "\x00" + groupKey(&r, []trait{byDefinition, bySide, byVariant, byCondition})
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
				out = append(out, Step{now[0].day(), now[0].Session, last[0].State, state, *withinSession(last, now, coverage)})
			}
			last = now
		}
	}
	return out, nil
}

// withinSession is the difference of two groups of takes of one session. It includes the
// variation from take to take.
func withinSession(from, to []Reading, coverage float64) *Difference {
	all := slices.Concat(from, to)
	v := takeVariation(all, newErrorModel(all), [][]int{span(0, len(from)), span(len(from), len(all))})
	missed := missedVariance(all, span(0, len(from))) + missedVariance(all, span(len(from), len(all)))
	return newDifference(all, len(from), v, 1/float64(len(from))+1/float64(len(to)), missed, coverage)
}

// Asymmetry compares left with right on the days on which both were read.
type Asymmetry struct {
	Days []Step `json:"days"` // right to left
	// Mean difference, left minus right: over several days, with the scatter from day to day
	// in its interval, or of the only day.
	MeanDeg     float64    `json:"mean_deg"`
	IntervalDeg [2]float64 `json:"interval_deg"`
	SmallestDeg float64    `json:"smallest_real_difference_deg"`
	Real        bool       `json:"real"`
	LeftOut     []LeftOut  `json:"left_out"`
	Sentence    string     `json:"sentence"`
}

// Sides compares left (to) with right (from). Readings that differ from the others in
// lines, condition or state are left out, and so are days with one side only.
func Sides(rs []Reading, coverage float64) (*Asymmetry, error) {
	if err := check(rs); err != nil {
		return nil, err
	}
	rs = ofOneAthlete(rs)
	var sided []Reading
	a := &Asymmetry{LeftOut: []LeftOut{}}
	for _, r := range rs {
		if r.Side == "left" || r.Side == "right" {
			sided = append(sided, r)
		} else {
			a.LeftOut = append(a.LeftOut, LeftOut{r.ID, "it is not said of which side it is"})
		}
	}
	like, left := alike(sided, byDefinition, byVariant, byCondition, byState)
	a.LeftOut = append(a.LeftOut, left...)
	like, _ = onePerPicture(like)
	var pairs [][2][]int
	for _, members := range byDay(like) {
		var side [2][]int
		for _, i := range members {
			k := 0
			if like[i].Side == "left" {
				k = 1
			}
			side[k] = append(side[k], i)
		}
		if len(side[0]) == 0 || len(side[1]) == 0 {
			for _, i := range members {
				a.LeftOut = append(a.LeftOut, LeftOut{like[i].ID, "on its day only one side was read"})
			}
			continue
		}
		pairs = append(pairs, side)
		ends := pick(like, side[0], side[1])
		a.Days = append(a.Days, Step{like[members[0]].day(), "", "right", "left", *withinSession(ends[:len(side[0])], ends[len(side[0]):], coverage)})
	}
	switch len(a.Days) {
	case 0:
		return nil, inputError("read both on the same day, in the same state", "there is no day on which the left and the right were both read alike")
	case 1:
		d := a.Days[0]
		a.MeanDeg, a.IntervalDeg, a.SmallestDeg, a.Real = d.ChangeDeg, d.IntervalDeg, d.SmallestDeg, d.Real
	default:
		var err error
		if a.MeanDeg, a.SmallestDeg, err = overDays(like, pairs, coverage); err != nil {
			return nil, err
		}
		a.IntervalDeg = [2]float64{a.MeanDeg - a.SmallestDeg, a.MeanDeg + a.SmallestDeg}
		a.Real = math.Abs(a.MeanDeg) > a.SmallestDeg
	}
	a.Sentence = a.sentence()
	return a, nil
}

// overDays is the mean, over two days or sessions or more, of the difference between the
// readings of each pair, second minus first, with the half-width of its interval, degrees. The
// scatter of the differences is part of it.
func overDays(like []Reading, pairs [][2][]int, coverage float64) (mean, half float64, err error) {
	m := newErrorModel(like)
	n := len(pairs)
	weights := mat.NewDense(n, len(like), nil)
	x, y := mat.NewDense(n, 1, nil), make([]float64, n)
	var groups [][]int
	var times float64 // mean over the days: factor of the variance from take to take in a day's difference
	for d, pair := range pairs {
		means := m.means([][]int{pair[0], pair[1]})
		for i := range like {
			weights.Set(d, i, means.At(1, i)-means.At(0, i))
		}
		x.Set(d, 0, 1)
		for i := range like {
			y[d] += weights.At(d, i) * like[i].AngleDeg
		}
		groups = append(groups, pair[0], pair[1])
		times += (1/float64(len(pair[0])) + 1/float64(len(pair[1]))) / float64(n)
	}
	takes := takeVariation(like, m, groups)
	for k := range takes {
		takes[k].sd *= math.Sqrt(times)
	}
	// The prior ends where the takes leave a probability of 1 in 10,000. With 1 in 1,000 or
	// 1 in 100,000 the interval of days with 1 or 3 takes is the same: the upper end of the
	// prior of takeVariation decides it.
	f, ok := fit(x, m.points(weights, y), uniform(0, takes.interval(0.9999)[1]), coverage)
	if !ok {
		return 0, 0, inputError("look at the readings' uncertainties", "no mean can be found of these %d days", n)
	}
	missed := 0.0 // not averaged over days: whoever picks the frames may have a habit for one of the two
	for _, pair := range pairs {
		missed = math.Max(missed, missedVariance(like, pair[0])+missedVariance(like, pair[1]))
	}
	return f.b[0], math.Hypot(f.half(1), normal(coverage)*math.Sqrt(missed)), nil
}

func (a *Asymmetry) sentence() string {
	size, smallest := uncertainty.Format(math.Abs(a.MeanDeg), a.SmallestDeg)
	on := a.Days[len(a.Days)-1].Day.Format("on 2 January 2006")
	if n := len(a.Days); n > 1 {
		on = fmt.Sprintf("over %s", plural(n, "day", "days"))
	}
	more := "left is more than right"
	if a.MeanDeg < 0 {
		more = "right is more than left"
	}
	if a.Real {
		return fmt.Sprintf("%s by %s° %s, a real difference (%s° would show)", more, size, on, smallest)
	}
	return fmt.Sprintf("%s by %s° %s; these pictures cannot tell that from no difference (%s° would show)", more, size, on, smallest)
}

// WarmUp is what warming up adds: the difference from cold to warm within sessions, pooled
// over all of them. It compares within sessions and says nothing about progress over months.
type WarmUp struct {
	Sessions    int        `json:"sessions"`
	MeanDeg     float64    `json:"mean_deg"` // warm minus cold
	SmallestDeg float64    `json:"smallest_real_difference_deg"`
	IntervalDeg [2]float64 `json:"interval_deg"`
	Real        bool       `json:"real"`
	Condition   string     `json:"condition,omitempty"`
	Sentence    string     `json:"sentence"`
}

// NewWarmUp pools the sessions in which one side was read cold and warm, for the condition, position and
// lines with the most such sessions; nil if there are fewer than two.
func NewWarmUp(rs []Reading, coverage float64) (*WarmUp, error) {
	if err := check(rs); err != nil {
		return nil, err
	}
	kinds := []trait{byDefinition, byVariant, byCondition}
	byKind := map[string][]Reading{}
	var order []string
	one, _ := onePerPicture(ofOneAthlete(rs))
	for _, r := range one {
		if r.State != "cold" && r.State != "warm" || r.AnyDay {
			continue // without its day its session is not known
		}
		kind := groupKey(&r, kinds)
		if byKind[kind] == nil {
			order = append(order, kind)
		}
		byKind[kind] = append(byKind[kind], r)
	}
	slices.Sort(order)
	var used []Reading
	var pairs [][2][]int
	for _, kind := range order {
		if paired, p := inSessions(byKind[kind]); len(p) > len(pairs) {
			used, pairs = paired, p
		}
	}
	if len(pairs) < 2 {
		return nil, nil
	}
	sessions := map[string]bool{}
	for i := range used {
		sessions[session(&used[i])] = true
	}
	w := &WarmUp{Sessions: len(sessions), Condition: known(used[0].Condition)}
	var err error
	if w.MeanDeg, w.SmallestDeg, err = overDays(used, pairs, coverage); err != nil {
		return nil, err
	}
	w.IntervalDeg = [2]float64{w.MeanDeg - w.SmallestDeg, w.MeanDeg + w.SmallestDeg}
	w.Real = math.Abs(w.MeanDeg) > w.SmallestDeg
	w.Sentence = w.sentence()
	return w, nil
}

// inSessions pairs cold (first) and warm (second) readings of one side in one session. It
// returns the readings that are in a pair, and the pairs.
func inSessions(rs []Reading) (used []Reading, pairs [][2][]int) {
	index := map[string]int{}
	var all [][2][]Reading
	for _, r := range rs {
		key := session(&r) + "\x00" + known(r.Side)
		at, ok := index[key]
		if !ok {
			at = len(all)
			index[key], all = at, append(all, [2][]Reading{})
		}
		state := 0
		if r.State == "warm" {
			state = 1
		}
		all[at][state] = append(all[at][state], r)
	}
	for _, states := range all {
		if len(states[0]) == 0 || len(states[1]) == 0 {
			continue
		}
		var pair [2][]int
		for state := range states {
			for _, r := range states[state] {
				pair[state] = append(pair[state], len(used))
				used = append(used, r)
			}
		}
		pairs = append(pairs, pair)
	}
	return used, pairs
}

func (w *WarmUp) sentence() string {
	deg, half := uncertainty.Format(w.MeanDeg, w.SmallestDeg)
	if w.MeanDeg >= 0 {
		deg = "+" + deg
	}
	is := "a real effect"
	if !w.Real {
		is = "these pictures cannot tell that from none"
	}
	where := plural(w.Sessions, "session", "sessions")
	if w.Condition != "" {
		where += ", " + w.Condition + ","
	}
	return fmt.Sprintf("cold to warm, %s together: %s° ± %s°, %s", where, deg, half, is)
}
