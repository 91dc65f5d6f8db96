package change

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/mat"
)

// month is the mean length of one, in days.
const month = 365.25 / 12

// fewestDays is from how many days a line is drawn: two say a difference, and
// with three the scatter has one degree of freedom and Student's t is 12.7.
const fewestDays = 4

// Options say what a trend is held against. The zero value takes 95 % and what
// the latest reading was asked.
type Options struct {
	AskedDeg *float64
	AtMost   bool // with AskedDeg: less is better
	Coverage float64
}

// Trend is one measure of one athlete over months.
type Trend struct {
	Measure   string    `json:"measure"`
	Side      string    `json:"side,omitempty"`
	Condition string    `json:"condition,omitempty"`
	State     string    `json:"state,omitempty"`
	AskedDeg  *float64  `json:"asked_deg,omitempty"`
	AtMost    bool      `json:"at_most,omitempty"`
	Coverage  float64   `json:"coverage"`
	Days      []Day     `json:"days"`
	LeftOut   []LeftOut `json:"left_out"`

	// First to last day: by the line where there is one, else by the readings.
	ChangeDeg   float64 `json:"change_deg"`
	SmallestDeg float64 `json:"smallest_real_change_deg,omitempty"` // 0: one day, so that it is not known
	Real        bool    `json:"real"`

	Line       *Line       `json:"line,omitempty"`       // nil: too few days
	Difference *Difference `json:"difference,omitempty"` // last day from the first; nil: one day
	Reach      *Reach      `json:"reach,omitempty"`      // nil: nothing is asked, or no line
	DayToDay   DayToDay    `json:"day_to_day"`
	NextDay    *time.Time  `json:"next_day,omitempty"` // the first on which one more reading could show a change at this rate
	Missing    string      `json:"missing,omitempty"`
	Sentence   string      `json:"sentence"`
	Notes      []string    `json:"notes"`
}

// Day is one day's angle: the mean of its readings.
type Day struct {
	Day         time.Time  `json:"day"`
	AngleDeg    float64    `json:"angle_deg"`
	StandardDeg float64    `json:"standard_uncertainty_deg"`
	IntervalDeg [2]float64 `json:"interval_deg"`
	Readings    []int64    `json:"readings"`
}

// Line is the fitted line. Its band is that of the athlete's angle on a day, not
// of a single reading.
type Line struct {
	From, To         time.Time  `json:"-"`
	SlopeDeg         float64    `json:"slope_deg_per_month"`
	SlopeStandardDeg float64    `json:"slope_standard_uncertainty_deg_per_month"`
	SlopeIntervalDeg [2]float64 `json:"slope_interval_deg_per_month"`
	ChiSquared       float64    `json:"chi_squared"` // of the residuals against the stated uncertainties
	DegreesOfFreedom float64    `json:"degrees_of_freedom"`
	Probability      float64    `json:"probability"` // of as much scatter, if they are right
	Birge            float64    `json:"birge_ratio"` // sqrt(chi-squared / degrees of freedom)
	OverDispersed    bool       `json:"over_dispersed"`
	ExtraDeg         float64    `json:"extra_scatter_deg"` // standard deviation from day to day beyond the stated
	ResidualsDeg     []float64  `json:"residuals_deg"`     // by day
	fit              *fitted
	origin           time.Time
	days             []float64 // months from the origin
}

// At is the line on a day, with its band.
func (l *Line) At(day time.Time) (deg, low, high float64) {
	t := months(l.origin, day)
	deg = l.fit.b[0] + l.fit.b[1]*t
	h := l.fit.half(1, t)
	return deg, deg - h, deg + h
}

func months(from, to time.Time) float64 { return to.Sub(from).Hours() / 24 / month }

// overDispersed is how improbable the scatter has to be for the readings to be
// called over-dispersed.
const overDispersed = 0.05

// NewTrend fits the line. Of readings that are unlike in lines, side, condition or
// state, those of the kind with the most days are used and the others named.
func NewTrend(rs []Reading, opt Options) (*Trend, error) {
	if len(rs) == 0 {
		return nil, fault("keep some: 'ecart read TAKE --keep ATHLETE'", "there are no readings to make a trend of")
	}
	if err := check(rs); err != nil {
		return nil, err
	}
	if opt.Coverage == 0 {
		opt.Coverage = 0.95
	}
	if !(opt.Coverage > 0.5 && opt.Coverage < 1) {
		return nil, fault("0.95 is usual", "the coverage %g is not between 0.5 and 1", opt.Coverage)
	}
	like, left := alike(rs, byDefinition, bySide, byCondition, byState)
	last := &like[len(like)-1]
	t := &Trend{Measure: last.Measure, Side: last.Side, Condition: known(last.Condition), State: known(last.State), Coverage: opt.Coverage,
		AskedDeg: opt.AskedDeg, AtMost: opt.AtMost, LeftOut: left, Notes: []string{}}
	for i := len(like) - 1; i >= 0 && t.AskedDeg == nil; i-- {
		t.AskedDeg, t.AtMost = like[i].AskedDeg, like[i].AtMost
	}
	if t.LeftOut == nil {
		t.LeftOut = []LeftOut{}
	}
	groups := byDay(like)
	p := part(like)
	m := p.means(groups)
	own, shared := p.through(m)
	y := make([]float64, len(groups))
	for g, members := range groups {
		d := Day{Day: like[members[0]].day()}
		for _, i := range members {
			y[g] += m.At(g, i) * like[i].AngleDeg
			d.Readings = append(d.Readings, like[i].ID)
		}
		d.AngleDeg, d.StandardDeg = y[g], math.Sqrt(own.At(g, g)+shared.At(g, g))
		h := normal(opt.Coverage) * d.StandardDeg
		d.IntervalDeg = [2]float64{y[g] - h, y[g] + h}
		t.Days = append(t.Days, d)
	}
	if n := len(groups); n > 1 {
		ends := pick(like, groups[0], groups[n-1])
		t.Difference = difference(ends, len(groups[0]), opt.Coverage)
		t.ChangeDeg, t.SmallestDeg, t.Real = t.Difference.ChangeDeg, t.Difference.SmallestDeg, t.Difference.Real
	}
	t.DayToDay = estimateDayToDay(like)
	if len(groups) >= fewestDays {
		if err := t.drawLine(y, own, shared); err != nil {
			return nil, err
		}
	} else {
		t.tooFew(like, groups)
	}
	t.note(like)
	t.Sentence = t.say()
	return t, nil
}

// byDay groups readings, which are in order, by their day.
func byDay(rs []Reading) (groups [][]int) {
	for i := range rs {
		if i == 0 || !rs[i].day().Equal(rs[i-1].day()) {
			groups = append(groups, nil)
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], i)
	}
	return groups
}

func pick(rs []Reading, groups ...[]int) (out []Reading) {
	for _, g := range groups {
		for _, i := range g {
			out = append(out, rs[i])
		}
	}
	return out
}

func (t *Trend) drawLine(y []float64, own, shared *mat.SymDense) error {
	n := len(y)
	// months from the middle: the intercept is then the line's height there
	first, last := t.Days[0].Day, t.Days[n-1].Day
	l := &Line{From: first, To: last, origin: first.AddDate(0, 0, int(last.Sub(first).Hours()/48))}
	x := mat.NewDense(n, 2, nil)
	for i, d := range t.Days {
		l.days = append(l.days, months(l.origin, d.Day))
		x.SetRow(i, []float64{1, l.days[i]})
	}
	f, ok := fit(x, y, own, shared, t.Coverage)
	if !ok {
		return fault("look at the readings' uncertainties", "no line can be laid through these %d days", n)
	}
	l.fit, l.SlopeDeg, l.SlopeStandardDeg, l.ResidualsDeg = f, f.b[1], f.sd(0, 1), f.residuals
	h := f.half(0, 1)
	l.SlopeIntervalDeg = [2]float64{l.SlopeDeg - h, l.SlopeDeg + h}
	l.ChiSquared, l.DegreesOfFreedom, l.Probability, l.Birge = f.chi2, f.freedom, f.p, math.Sqrt(f.chi2/f.freedom)
	l.OverDispersed, l.ExtraDeg = f.p < overDispersed, math.Sqrt(f.extra)
	t.Line = l
	span := months(first, last)
	t.ChangeDeg, t.SmallestDeg = l.SlopeDeg*span, h*span
	t.Real = math.Abs(t.ChangeDeg) > t.SmallestDeg
	if t.AskedDeg != nil {
		t.Reach = l.reach(*t.AskedDeg, t.AtMost)
	}
	if !t.Real {
		t.NextDay = l.nextDay(own, t.Coverage)
	}
	return nil
}

func (t *Trend) note(like []Reading) {
	say := func(format string, a ...any) { t.Notes = append(t.Notes, fmt.Sprintf(format, a...)) }
	if l := t.Line; l != nil {
		switch {
		case l.OverDispersed:
			say("the readings scatter %.1f times as much about the line as their uncertainties say (chi-squared %.1f with %.0f degrees of freedom, probability %.2g): %.1f° from day to day is more than was stated, and the band is that much wider",
				l.Birge, l.ChiSquared, l.DegreesOfFreedom, l.Probability, l.ExtraDeg)
		case l.Probability > 1-overDispersed:
			say("the readings scatter only %.2g times as much about the line as their uncertainties say: much of those may be shared by all of them", l.Birge)
		}
	}
	if len(t.LeftOut) > 0 {
		say("%d of %d readings are of another kind and were left out", len(t.LeftOut), len(t.LeftOut)+len(like))
	}
	if t.State == "" {
		say("nobody said whether the athlete was cold or warm; range differs by it")
	}
	if d := t.DayToDay; d.Known {
		say("over %d days with %d readings the athlete varies by %.1f° from take to take and %.1f° from day to day (standard deviations): between two single takes on two days a change under %.1f° would not be real",
			d.Days, d.Readings, d.WithinDeg, d.BetweenDeg, d.SmallestRealDeg)
	} else {
		say("%s", d.Why)
	}
	if t.Reach != nil && t.Reach.Status == Coming {
		say("a line goes on for ever and an athlete does not: gains level off, so that a day far ahead is the earliest and not the likeliest")
	}
}
