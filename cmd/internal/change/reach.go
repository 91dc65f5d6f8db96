package change

import (
	"math"
	"sort"
	"time"

	"ecart/geometry/uncertainty"
)

// horizonDays is how far ahead the line is extrapolated, three years: no athlete's rate
// stays constant for longer.
const horizonDays = 3 * 365

// Status says how a line compares with the angle asked.
type Status string

// The statuses.
const (
	Reached       Status = "reached"          // the whole band is past the angle asked
	Near          Status = "near"             // the band contains the angle asked
	Coming        Status = "coming"           // the line arrives at this rate
	NotAtThisRate Status = "not-at-this-rate" // the whole interval of the rate leads away, or needs more than three years
	CannotTell    Status = "cannot-tell"      // the interval of the rate contains 0
)

// Reach is when the line arrives at the angle asked. The interval is Fieller's: the days on
// which the band contains the angle asked.
type Reach struct {
	Status Status `json:"status"`
	// For Coming; nil: more than three years ahead.
	From *time.Time `json:"from,omitempty"`
	At   *time.Time `json:"at,omitempty"` // of the line itself
	To   *time.Time `json:"to,omitempty"`
	// For CannotTell: how many more days with a reading, as good and as far apart as the
	// present ones, would show that the rate is not 0, if it is the line's slope. Nil: more
	// than fit into three years.
	MoreDays *int `json:"more_days,omitempty"`
}

// reach finds the days on which the band contains the angle asked (Fieller 1954, J R Stat
// Soc B 16:175: the days that the readings do not rule out). If the slope is not real this
// range has no end, and no day is given.
func (l *Line) reach(asked float64, atMost bool) *Reach {
	// short returns the degrees by which the line and the lower and upper edge of its band fall short of the angle asked
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
	slowest, fastest := l.SlopeIntervalDeg[0], l.SlopeIntervalDeg[1] // degrees per month towards the angle asked
	if atMost {
		slowest, fastest = -fastest, -slowest
	}
	switch {
	case fastest <= 0:
		return &Reach{Status: NotAtThisRate}
	case slowest <= 0:
		return &Reach{Status: CannotTell, MoreDays: l.moreDays()}
	}
	// after the last day each of the three approaches the angle asked and stays past it
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

// nextDay is the first day on which one more reading, as good as the previous ones and
// exactly on the line, would make the slope real; nil if there is none within the horizon.
func (l *Line) nextDay() *time.Time {
	last := months(l.origin, l.To)
	w := l.sums()
	for day := 1; day <= horizonDays; day++ {
		if w.isReal([]float64{last + float64(day)/month}) {
			at := l.To.AddDate(0, 0, day)
			return &at
		}
	}
	return nil
}

// moreDays is the number of further days with a reading, at the present spacing, that would make the
// slope real; nil if none do within the horizon.
func (l *Line) moreDays() *int {
	n := len(l.days)
	step := (l.days[n-1] - l.days[0]) / float64(n-1)
	var more []float64
	w := l.sums()
	for at := l.days[n-1] + step; (at-l.days[n-1])*month <= horizonDays; at += step {
		more = append(more, at)
		if w.isReal(more) {
			m := len(more)
			return &m
		}
	}
	return nil
}

// lineSums are the sums of the weighted fit of a straight line, from which the effect of
// further days is predicted.
type lineSums struct {
	sw, st, stt float64 // sums of weights, of weights times months, and of their squares
	dayVariance float64 // of a further day: the mean of the present days' variances
	wider       float64 // factor by which errors shared between days increase the slope's variance
	factor      float64 // half-width of the slope's interval over its standard deviation
	slope       float64
}

func (l *Line) sums() lineSums {
	f := l.fit
	varies := f.extra.variance()
	w := lineSums{slope: f.b[1]}
	for i, t := range l.days {
		v := f.points.own.At(i, i) + f.points.varies[i] + varies
		w.add(t, v)
		w.dayVariance += v / float64(len(l.days))
	}
	sd := f.sd(0, 1)
	w.factor = f.half(0, 1) / sd
	w.wider = math.Max(1, sd*sd/w.variance())
	return w
}

func (w *lineSums) add(t, variance float64) {
	k := 1 / variance
	w.sw, w.st, w.stt = w.sw+k, w.st+k*t, w.stt+k*t*t
}

// variance of the slope.
func (w *lineSums) variance() float64 { return 1 / (w.stt - w.st*w.st/w.sw) }

// isReal reports whether the slope would be real with further days at more (months from
// the line's origin), each exactly on the line and with the variance dayVariance.
func (w lineSums) isReal(more []float64) bool {
	for _, t := range more {
		w.add(t, w.dayVariance)
	}
	return math.Abs(w.slope) > w.factor*math.Sqrt(w.wider*w.variance())
}

// missingDays says in words how many days a trend still needs.
func missingDays(n int) string {
	return plural(fewestDays-n, "more day", "more days") + " with a reading: a trend takes " + number(fewestDays)
}

// setMissing sets what is missing for a trend, and the first day on which a next reading could
// show a change if the rate from the first to the last day continues.
func (t *Trend) setMissing(d *days) {
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
