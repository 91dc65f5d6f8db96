package change

import (
	"math"
	"sort"
	"time"

	"ecart/geometry/uncertainty"
)

// horizonDays is how far ahead a day is named, three years: beyond it nobody's
// rate stays what it was.
const horizonDays = 3 * 365

// Status says how a line stands to what is asked.
type Status string

// The line is past what is asked with its whole band; the band holds what is asked;
// the line comes to it at this rate; it does not, since the whole interval of the rate
// leads away from it or takes more than three years; the interval of the rate holds
// both, so that it cannot be told yet.
const (
	Reached       Status = "reached"
	Near          Status = "near"
	Coming        Status = "coming"
	NotAtThisRate Status = "not-at-this-rate"
	CannotTell    Status = "cannot-tell"
)

// Reach is when the line comes to what is asked. The interval is Fieller's: the
// days on which the band holds what is asked.
type Reach struct {
	Status Status `json:"status"`
	// With Coming; nil: more than three years ahead.
	From *time.Time `json:"from,omitempty"`
	At   *time.Time `json:"at,omitempty"` // of the line itself
	To   *time.Time `json:"to,omitempty"`
	// With CannotTell: how many more days with a reading, as good and as far apart as
	// those there are, would tell the rate from 0 if it is what the line says. Nil: more
	// than there are in three years.
	MoreDays *int `json:"more_days,omitempty"`
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
	slowest, fastest := l.SlopeIntervalDeg[0], l.SlopeIntervalDeg[1] // towards what is asked
	if atMost {
		slowest, fastest = -fastest, -slowest
	}
	switch {
	case fastest <= 0:
		return &Reach{Status: NotAtThisRate}
	case slowest <= 0:
		return &Reach{Status: CannotTell, MoreDays: l.moreDays()}
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
func (l *Line) nextDay() *time.Time {
	last := months(l.origin, l.To)
	for day := 1; day <= horizonDays; day++ {
		if l.tells([]float64{last + float64(day)/month}) {
			at := l.To.AddDate(0, 0, day)
			return &at
		}
	}
	return nil
}

// moreDays is how many more days with a reading would make the slope real; nil if they
// do not within the horizon.
func (l *Line) moreDays() *int {
	n := len(l.days)
	step := (l.days[n-1] - l.days[0]) / float64(n-1)
	var more []float64
	for at := l.days[n-1] + step; (at-l.days[n-1])*month <= horizonDays; at += step {
		more = append(more, at)
		if l.tells(more) {
			m := len(more)
			return &m
		}
	}
	return nil
}

// tells says whether the slope would be real with readings at more months, each as
// uncertain as the middling one before and just on the line. The errors that days share
// widen the slope's variance by as much as they do now.
func (l *Line) tells(more []float64) bool {
	f := l.fit
	n := len(l.days)
	var sw, st, stt, mid float64
	add := func(t, variance float64) {
		w := 1 / variance
		sw, st, stt = sw+w, st+w*t, stt+w*t*t
	}
	for i, t := range l.days {
		mean := f.extra.mean()
		v := (1-mean.constant)*f.points.own.At(i, i) + f.points.varies[i] + mean.sd*mean.sd
		add(t, v)
		mid += v / float64(n)
	}
	plain := func() float64 { return 1 / (stt - st*st/sw) }
	sd := f.sd(0, 1)
	factor := f.half(0, 1) / sd // of the interval, the variation being uncertain
	wider := math.Max(1, sd*sd/plain())
	for _, t := range more {
		add(t, mid)
	}
	return math.Abs(f.b[1]) > factor*math.Sqrt(wider*plain())
}

// missingDays says how many days a trend still takes.
func missingDays(n int) string {
	return plural(fewestDays-n, "more day", "more days") + " with a reading: a trend takes " + number(fewestDays)
}

// tooFew says what is missing, and when a next reading could show a change if the
// athlete goes on as the first and the last day say.
func (t *Trend) tooFew(d *days) {
	n := len(d.groups)
	t.Missing = missingDays(n)
	if t.Real {
		return
	}
	// another reading like the last
	next := d.readings[len(d.readings)-1]
	first, last := t.Days[0].Day, t.Days[n-1].Day
	rate := t.ChangeDeg / months(first, last)
	next.Day = last.AddDate(0, 0, 1)
	smallest := newDifference(append(pick(d.readings, d.groups[0]), next), len(d.groups[0]), t.variation, 2, 2*unsaidState(&next), t.Coverage).SmallestDeg
	if wait := smallest / math.Abs(rate); wait*month <= horizonDays {
		at := first.AddDate(0, 0, int(math.Ceil(wait*month)))
		if !at.After(last) {
			at = last.AddDate(0, 0, 1)
		}
		t.NextDay = &at
	}
}

func normal(coverage float64) float64 { return uncertainty.CoverageFactor(math.Inf(1), coverage) }
