package change

import (
	"math"
	"sort"
	"time"

	"gonum.org/v1/gonum/mat"

	"ecart/geometry/uncertainty"
)

// horizonDays is how far ahead a day is named, three years: beyond it nobody's
// rate stays what it was.
const horizonDays = 3 * 365

// Status says how a line stands to what is asked.
type Status string

// The line is past what is asked with its whole band; the band holds what is
// asked; it comes to it at this rate; it does not.
const (
	Reached       Status = "reached"
	Near          Status = "near"
	Coming        Status = "coming"
	NotAtThisRate Status = "not-at-this-rate"
)

// Reach is when the line comes to what is asked. The interval is Fieller's: the
// days on which the band holds what is asked.
type Reach struct {
	Status Status `json:"status"`
	// With Coming; nil: more than three years ahead.
	From *time.Time `json:"from,omitempty"`
	At   *time.Time `json:"at,omitempty"` // of the line itself
	To   *time.Time `json:"to,omitempty"`
}

// reach looks for the days on which the band holds what is asked (Fieller 1954, J R
// Stat Soc B 16:175: the days that the readings do not rule out). Where the slope is
// not real they have no end, and no day is named.
func (l *Line) reach(asked float64, atMost bool) *Reach {
	// short is by how much the line, its lower and its upper edge fall short
	short := func(day time.Time) (line, low, high float64) {
		line, low, high = l.At(day)
		if atMost {
			line, low, high = -line, -high, -low
		}
		sign := 1.0
		if atMost {
			sign = -1
		}
		return sign*asked - line, sign*asked - low, sign*asked - high
	}
	_, low, high := short(l.To)
	switch {
	case low <= 0:
		return &Reach{Status: Reached}
	case high <= 0:
		return &Reach{Status: Near}
	}
	toward := l.SlopeIntervalDeg[0] > 0
	if atMost {
		toward = l.SlopeIntervalDeg[1] < 0
	}
	if !toward {
		return &Reach{Status: NotAtThisRate}
	}
	// from the last day on each of the three comes nearer to what is asked and stays there
	first := func(past func(line, low, high float64) bool) *time.Time {
		n := sort.Search(horizonDays+1, func(n int) bool { return past(short(l.To.AddDate(0, 0, n))) })
		if n > horizonDays {
			return nil
		}
		day := l.To.AddDate(0, 0, n)
		return &day
	}
	r := &Reach{Status: Coming,
		From: first(func(_, _, high float64) bool { return high <= 0 }),
		At:   first(func(line, _, _ float64) bool { return line <= 0 }),
		To:   first(func(_, low, _ float64) bool { return low <= 0 })}
	if r.From == nil {
		return &Reach{Status: NotAtThisRate}
	}
	return r
}

// nextDay is the first day on which one more reading, as good as those before and
// just on the line, would make the slope real; nil if none is within the horizon.
func (l *Line) nextDay(own *mat.SymDense, coverage float64) *time.Time {
	n := len(l.ResidualsDeg)
	// the weights of the days, and that of a middling one more
	var sw, st, stt, mid float64
	f := l.fit
	for i := range n {
		w := 1 / (f.scale*own.At(i, i) + f.extra)
		t := l.days[i]
		sw, st, stt, mid = sw+w, st+w*t, stt+w*t*t, mid+1/w/float64(n)
	}
	k := uncertainty.CoverageFactor(f.freedom+1, coverage)
	w := 1 / mid
	last := months(l.origin, l.To)
	for day := 1; day <= horizonDays; day++ {
		t := last + float64(day)/month
		s0, s1, s2 := sw+w, st+w*t, stt+w*t*t
		if math.Abs(f.b[1]) > k/math.Sqrt(s2-s1*s1/s0) {
			at := l.To.AddDate(0, 0, day)
			return &at
		}
	}
	return nil
}

// tooFew says what is missing, and when a next reading could show a change if
// the athlete goes on as the first and the last day say.
func (t *Trend) tooFew(like []Reading, groups [][]int) {
	n := len(groups)
	t.Missing = plural(fewestDays-n, "more day", "more days") + " with a reading: a trend takes " + number(fewestDays)
	if n < 2 || t.Real {
		return
	}
	// another reading like the last
	next := like[len(like)-1]
	first, last := t.Days[0].Day, t.Days[n-1].Day
	rate := t.ChangeDeg / months(first, last)
	next.Day = last.AddDate(0, 0, 1)
	smallest := difference(append(pick(like, groups[0]), next), len(groups[0]), t.Coverage).SmallestDeg
	if wait := smallest / math.Abs(rate); wait*month <= horizonDays {
		at := first.AddDate(0, 0, int(math.Ceil(wait*month)))
		if !at.After(last) {
			at = last.AddDate(0, 0, 1)
		}
		t.NextDay = &at
	}
}

func normal(coverage float64) float64 { return uncertainty.CoverageFactor(math.Inf(1), coverage) }
