package change

import (
	"fmt"
	"math"
	"slices"

	"ecart/geometry/uncertainty"
)

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

// NewWarmUp pools the sessions in which one side was read cold and warm, in the condition,
// position and between the lines of which there are most; nil if there are fewer than two.
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
		kind := name(&r, kinds)
		if byKind[kind] == nil {
			order = append(order, kind)
		}
		byKind[kind] = append(byKind[kind], r)
	}
	slices.Sort(order)
	var used []Reading
	var pairs [][2][]int
	for _, kind := range order {
		if of, p := inSessions(byKind[kind]); len(p) > len(pairs) {
			used, pairs = of, p
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
	w.Sentence = w.say()
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
	for _, of := range all {
		if len(of[0]) == 0 || len(of[1]) == 0 {
			continue
		}
		var pair [2][]int
		for state := range of {
			for _, r := range of[state] {
				pair[state] = append(pair[state], len(used))
				used = append(used, r)
			}
		}
		pairs = append(pairs, pair)
	}
	return used, pairs
}

func (w *WarmUp) say() string {
	deg, half := uncertainty.Format(w.MeanDeg, w.SmallestDeg)
	if w.MeanDeg >= 0 {
		deg = "+" + deg
	}
	is := "a real effect"
	if !w.Real {
		is = "these pictures cannot tell that from none"
	}
	of := plural(w.Sessions, "session", "sessions")
	if w.Condition != "" {
		of += ", " + w.Condition + ","
	}
	return fmt.Sprintf("cold to warm, %s together: %s° ± %s°, %s", of, deg, half, is)
}
