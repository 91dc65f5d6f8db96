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
	w := l.weighed()
	for day := 1; day <= horizonDays; day++ {
		if w.tells([]float64{last + float64(day)/month}) {
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
	w := l.weighed()
	for at := l.days[n-1] + step; (at-l.days[n-1])*month <= horizonDays; at += step {
		more = append(more, at)
		if w.tells(more) {
			m := len(more)
			return &m
		}
	}
	return nil
}

// weighedDays are the sums of a straight line's fit, for asking what more days would tell.
type weighedDays struct {
	sw, st, stt float64 // sums of weights, of weights times months, and of their squares
	middling    float64 // variance of another day, as uncertain as the mean of those there are
	wider       float64 // by how much the errors that days share widen the slope's variance
	factor      float64 // of the slope's interval to its standard deviation
	slope       float64
}

func (l *Line) weighed() weighedDays {
	f := l.fit
	varies := f.extra.variance()
	w := weighedDays{slope: f.b[1]}
	for i, t := range l.days {
		v := f.points.own.At(i, i) + f.points.varies[i] + varies
		w.add(t, v)
		w.middling += v / float64(len(l.days))
	}
	sd := f.sd(0, 1)
	w.factor = f.half(0, 1) / sd
	w.wider = math.Max(1, sd*sd/w.variance())
	return w
}

func (w *weighedDays) add(t, variance float64) {
	k := 1 / variance
	w.sw, w.st, w.stt = w.sw+k, w.st+k*t, w.stt+k*t*t
}

// variance of the slope.
func (w *weighedDays) variance() float64 { return 1 / (w.stt - w.st*w.st/w.sw) }

// tells says whether the slope would be real with readings at more months, each
// middling and just on the line.
func (w weighedDays) tells(more []float64) bool {
	for _, t := range more {
		w.add(t, w.middling)
	}
	return math.Abs(w.slope) > w.factor*math.Sqrt(w.wider*w.variance())
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
	smallest := newDifference(append(pick(d.readings, d.groups[0]), next), len(d.groups[0]), t.variation, 2, 2*unsaidState(&next)+missedVariance(d.readings, d.groups[0])+missedVariance(d.readings, d.groups[n-1]), t.Coverage).SmallestDeg
	if wait := smallest / math.Abs(rate); wait*month <= horizonDays {
		at := first.AddDate(0, 0, int(math.Ceil(wait*month)))
		if !at.After(last) {
			at = last.AddDate(0, 0, 1)
		}
		t.NextDay = &at
	}
}

func normal(coverage float64) float64 { return uncertainty.CoverageFactor(math.Inf(1), coverage) }
