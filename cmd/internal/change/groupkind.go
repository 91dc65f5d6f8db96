package change

import (
	"cmp"
	"fmt"
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
			k := groupKey(&one[i], append(slices.Clone(kindTraits), bySide))
			if days[k] == nil {
				days[k] = map[time.Time]bool{}
			}
			days[k][one[i].day()] = true
		}
		most := map[string]int{}
		for i := range one {
			kind := groupKey(&one[i], kindTraits)
			most[kind] = max(most[kind], len(days[groupKey(&one[i], append(slices.Clone(kindTraits), bySide))]))
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
		kind := groupKey(&rs[i], kindTraits)
		a, b := counts[kind], counts[best]
		if best == "" || cmp.Or(cmp.Compare(a.athletes, b.athletes), cmp.Compare(a.days, b.days), strings.Compare(best, kind)) > 0 {
			best = kind
		}
	}
	return best
}

func ofKind(rs []Reading, kind string) (out []Reading) {
	for i := range rs {
		if groupKey(&rs[i], kindTraits) == kind {
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

// monthChange is the change from the mean of one calendar month's days to that of another's;
// nil if either has none.
func (t *Trend) monthChange(before, month time.Time) *weightedChange {
	a := make([]float64, len(t.Days))
	var n [2]float64
	in := func(d Day) int {
		switch y, m, _ := d.Day.Date(); {
		case y == before.Year() && m == before.Month():
			return 0
		case y == month.Year() && m == month.Month():
			return 1
		}
		return -1
	}
	for _, d := range t.Days {
		if k := in(d); k >= 0 {
			n[k]++
		}
	}
	if n[0] == 0 || n[1] == 0 {
		return nil
	}
	for g, d := range t.Days {
		switch in(d) {
		case 0:
			a[g] = -1 / n[0]
		case 1:
			a[g] = 1 / n[1]
		}
	}
	return t.days.weightedChange(a, t.variation)
}

// trendsOf returns an athlete's trends, one for each side that was read on two days or more. If there is
// none, why says what is missing.
func trendsOf(rs []Reading, opt Options) (trends []*Trend, why string, err error) {
	sides := values(bySide, rs)
	if i := slices.Index(sides, "unsaid"); i >= 0 && len(sides) > 1 {
		sides = slices.Delete(sides, i, i+1)
	}
	slices.Sort(sides)
	for _, side := range sides {
		sideReadings := slices.DeleteFunc(slices.Clone(rs), func(r Reading) bool { return orUnsaid(known(r.Side)) != side })
		t, err := NewTrend(sideReadings, opt)
		if err != nil {
			return nil, "", fmt.Errorf("%s: %w", rs[0].Athlete, err)
		}
		if len(t.Days) > 1 {
			trends = append(trends, t)
		}
	}
	if trends == nil {
		return nil, "read on one day only", nil
	}
	return trends, "", nil
}
