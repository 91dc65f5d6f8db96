package change

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// The traits in which a group's readings have to agree. Sides may differ.
var kindTraits = []trait{byDefinition, byVariant, byCondition, byState}

// byAthlete are the readings of each athlete, by name.
func byAthlete(rs []Reading) (out [][]Reading) {
	sorted := slices.Clone(rs)
	slices.SortStableFunc(sorted, func(a, b Reading) int {
		return cmp.Or(strings.Compare(a.Athlete, b.Athlete), a.day().Compare(b.day()))
	})
	for i, r := range sorted {
		if i == 0 || r.Athlete != sorted[i-1].Athlete {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], r)
	}
	return out
}

// commonKind is the kind of readings in which most athletes have two days on one side; of
// several, the one with more days.
func commonKind(rs []Reading) string {
	type count struct{ athletes, days int }
	counts := map[string]count{}
	for _, one := range byAthlete(rs) {
		days := map[string]map[time.Time]bool{} // by kind and side
		for i := range one {
			k := name(&one[i], append(slices.Clone(kindTraits), bySide))
			if days[k] == nil {
				days[k] = map[time.Time]bool{}
			}
			days[k][one[i].day()] = true
		}
		most := map[string]int{}
		for i := range one {
			kind := name(&one[i], kindTraits)
			most[kind] = max(most[kind], len(days[name(&one[i], append(slices.Clone(kindTraits), bySide))]))
		}
		for kind, n := range most {
			c := counts[kind]
			if n > 1 {
				c.athletes++
			}
			c.days += n
			counts[kind] = c
		}
	}
	var best string
	for i := range rs {
		kind := name(&rs[i], kindTraits)
		a, b := counts[kind], counts[best]
		if best == "" || cmp.Or(cmp.Compare(a.athletes, b.athletes), cmp.Compare(a.days, b.days), strings.Compare(best, kind)) > 0 {
			best = kind
		}
	}
	return best
}

func ofKind(rs []Reading, kind string) (out []Reading) {
	for i := range rs {
		if name(&rs[i], kindTraits) == kind {
			out = append(out, rs[i])
		}
	}
	return out
}

// kindWords are a reading's condition and state, and its position where that is not the usual one.
func kindWords(r *Reading) string {
	position := ""
	if r.Variant != "" {
		position = r.Variant + ", "
	}
	return position + orUnsaid(known(r.Condition)) + ", " + orUnsaid(known(r.State))
}

// latestMonth is the first day of the last month in which a reading of the kind was made.
func latestMonth(rs []Reading, kind string) (out time.Time) {
	for _, r := range ofKind(rs, kind) {
		if d := r.day(); d.After(out) {
			out = d
		}
	}
	return time.Date(out.Year(), out.Month(), 1, 0, 0, 0, 0, time.UTC)
}
