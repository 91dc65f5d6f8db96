package record

import (
	"fmt"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
)

// BesideTrend is how an angle changed that was read beside the one asked for: of one leg, or of the
// trunk.
type BesideTrend struct {
	Leg   string        `json:"leg,omitempty"`
	Trend *change.Trend `json:"trend"`
}

// Name is what the angle is of: "the front leg, above level".
func (b *BesideTrend) Name() string { return reading.BesideName(b.Trend.Measure, b.Leg) }

// Words are the angle on the last day and the change on one line.
func (b *BesideTrend) Words() string {
	days := b.Trend.Days
	last := days[len(days)-1]
	return fmt.Sprintf("%s: %s, %s", b.Name(), desk.PlusMinus(last.AngleDeg, last.IntervalDeg[1]-last.AngleDeg), b.Trend.MovedBriefly())
}

// besideTrends are the trends of the angles read beside the readings of a trend.
func besideTrends(entries []*journal.Entry, t *change.Trend, rs []change.Reading, opt change.Options) ([]BesideTrend, error) {
	used := map[int64]bool{}
	for _, d := range t.Days {
		for _, id := range d.Readings {
			used[id] = true
		}
	}
	whole := map[int64]*journal.Entry{}
	for _, e := range entries {
		whole[e.ID] = e
	}
	type which struct{ measure, leg string }
	var order []which
	of := map[which][]change.Reading{}
	for i := range rs {
		e := whole[rs[i].ID]
		if e == nil || !used[rs[i].ID] {
			continue
		}
		r, err := e.Parse()
		if err != nil {
			return nil, err
		}
		for k := range r.Beside {
			w := which{r.Beside[k].Measure, r.Beside[k].Leg}
			if of[w] == nil {
				order = append(order, w)
			}
			of[w] = append(of[w], rs[i].Beside(&r.Beside[k]))
		}
	}
	var out []BesideTrend
	for _, w := range order {
		if len(of[w]) < 2 {
			continue
		}
		trend, err := change.NewTrend(of[w], change.Options{Coverage: opt.Coverage})
		if err != nil {
			return nil, err
		}
		if len(trend.Days) > 1 {
			out = append(out, BesideTrend{w.leg, trend})
		}
	}
	return out, nil
}
