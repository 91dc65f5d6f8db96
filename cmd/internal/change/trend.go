package change

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/mat"

	"ecart/cmd/internal/fault"
)

// month is the mean length of a month, days.
const month = 365.25 / 12

// fewestDays is the number of days from which a line is fitted. Two days give a difference
// only; with three, the scatter has one degree of freedom and Student's t is 12.7.
const fewestDays = 4

// Options sets the angle asked and the coverage of a trend. The zero value takes 95 % and the
// angle asked of the latest reading that has one.
type Options struct {
	AskedDeg *float64
	AtMost   bool // with AskedDeg: less is better
	Coverage float64
}

// Trend is one measure of one athlete over months.
type Trend struct {
	Measure   string    `json:"measure"`
	Variant   string    `json:"variant,omitempty"`
	Side      string    `json:"side,omitempty"`
	Condition string    `json:"condition,omitempty"`
	State     string    `json:"state,omitempty"`
	AskedDeg  *float64  `json:"asked_deg,omitempty"`
	AtMost    bool      `json:"at_most,omitempty"`
	Coverage  float64   `json:"coverage"`
	Days      []Day     `json:"days"`
	LeftOut   []LeftOut `json:"left_out"`

	// ChangeDeg is the change from the first to the last day: by the line, or by the readings
	// if there is no line.
	ChangeDeg float64 `json:"change_deg"`
	// SmallestDeg is the smallest real change over these days, with the athlete's variation
	// from day to day; 0: not known, with one day. SmallestInterval is its 95 % interval,
	// since that variation is only estimated.
	SmallestDeg      float64     `json:"smallest_real_change_deg,omitempty"`
	SmallestInterval *[2]float64 `json:"smallest_real_change_interval_deg,omitempty"`
	Real             bool        `json:"real"`

	Line       *Line       `json:"line,omitempty"`       // nil: too few days
	Difference *Difference `json:"difference,omitempty"` // from the first to the last day; nil: one day
	Reach      *Reach      `json:"reach,omitempty"`      // nil: no angle asked, or no line
	DayToDay   DayToDay    `json:"day_to_day"`
	NextDay    *time.Time  `json:"next_day,omitempty"` // the first day on which one more reading could show a change at this rate
	Missing    string      `json:"missing,omitempty"`
	Sentence   string      `json:"sentence"`
	Notes      []string    `json:"notes"`

	variation variation // from day to day
	days      *days
}

// Day is one day's angle: the mean of its readings.
type Day struct {
	Day         time.Time  `json:"day"`
	AngleDeg    float64    `json:"angle_deg"`
	StandardDeg float64    `json:"standard_uncertainty_deg"`
	IntervalDeg [2]float64 `json:"interval_deg"`
	Readings    []int64    `json:"readings"`
}

// Line is the fitted line. Its band is the interval of the athlete's angle on a day, not of a
// single reading.
type Line struct {
	From, To         time.Time  `json:"-"`
	SlopeDeg         float64    `json:"slope_deg_per_month"`
	SlopeStandardDeg float64    `json:"slope_standard_uncertainty_deg_per_month"`
	SlopeIntervalDeg [2]float64 `json:"slope_interval_deg_per_month"`
	ChiSquared       float64    `json:"chi_squared"` // of the residuals against the stated uncertainties
	DegreesOfFreedom float64    `json:"degrees_of_freedom"`
	Probability      float64    `json:"probability"` // of at least this chi-squared, if they are right
	Birge            float64    `json:"birge_ratio"` // sqrt(chi-squared / degrees of freedom)
	OverDispersed    bool       `json:"over_dispersed"`
	ExtraDeg         float64    `json:"extra_scatter_deg"` // standard deviation from day to day beyond the stated, with the prior
	ResidualsDeg     []float64  `json:"residuals_deg"`     // by day
	fit              *fitted
	origin           time.Time
	days             []float64 // months from the origin
	missed           float64   // the most that a day's frames may have missed of the widest moment, degrees
	atMost           bool
}

// At returns the line's angle on a day with the edges of its band, degrees.
func (l *Line) At(day time.Time) (deg, low, high float64) {
	t := months(l.origin, day)
	deg = l.fit.b[0] + l.fit.b[1]*t
	h := l.fit.half(1, t)
	edges := beyond([2]float64{deg - h, deg + h}, l.missed, l.atMost)
	return deg, edges[0], edges[1]
}

func months(from, to time.Time) float64 { return to.Sub(from).Hours() / 24 / month }

// overDispersed is the probability of the scatter below which readings are called
// over-dispersed.
const overDispersed = 0.05

// NewTrend fits the line. If readings differ in lines, side, condition or state, the group
// with the most days is used and the others are listed in LeftOut.
func NewTrend(rs []Reading, opt Options) (*Trend, error) {
	if len(rs) == 0 {
		return nil, inputError("keep some: "+fault.Operation("keep a reading"), "there are no readings to make a trend of")
	}
	if err := check(rs); err != nil {
		return nil, err
	}
	if opt.Coverage == 0 {
		opt.Coverage = 0.95
	}
	if !(opt.Coverage > 0.5 && opt.Coverage < 1) {
		return nil, inputError("0.95 is usual", "the coverage %g is not between 0.5 and 1", opt.Coverage)
	}
	like, left := alike(ofOneAthlete(rs), byDefinition, bySide, byVariant, byCondition, byState)
	like, merged := onePerPicture(like)
	last := &like[len(like)-1]
	t := &Trend{Measure: last.Measure, Variant: last.Variant, Side: last.Side, Condition: known(last.Condition), State: known(last.State), Coverage: opt.Coverage,
		AskedDeg: opt.AskedDeg, AtMost: opt.AtMost, LeftOut: left, Notes: []string{}}
	for i := len(like) - 1; i >= 0 && t.AskedDeg == nil; i-- {
		t.AskedDeg, t.AtMost = like[i].AskedDeg, like[i].AtMost
	}
	if t.LeftOut == nil {
		t.LeftOut = []LeftOut{}
	}
	d := newDays(like)
	t.days, t.Days = d, d.list(opt.Coverage)
	t.DayToDay = estimateDayToDay(like, opt.Coverage)
	if err := t.drawLine(d, opt.Coverage); err != nil {
		return nil, err
	}
	t.note(like, merged)
	t.Sentence = t.sentence()
	return t, nil
}

// days are the readings grouped by day.
type days struct {
	readings []Reading
	groups   [][]int // readings of each day
	model    *errorModel
	weights  *mat.Dense // day by reading: a day's angle is the mean of its takes
	y        []float64
	takes    []float64    // of each day's mean: variance, degrees^2, from the takes' scatter beyond their errors, and habits
	habits   []float64    // the part of it from an unknown state and from what single frames missed, which days and athletes may share
	missed   [][2]float64 // of each day's mean: range of what it may have missed of the widest moment, degrees
}

func newDays(rs []Reading) *days {
	d := &days{readings: rs, groups: byDay(rs), model: newErrorModel(rs)}
	d.weights = d.model.means(d.groups)
	take := takeToTake(rs, d.model, d.groups)
	for g, members := range d.groups {
		d.y = append(d.y, 0)
		var squares float64
		for _, i := range members {
			w := d.weights.At(g, i)
			d.y[g] += w * rs[i].AngleDeg
			squares += w * w
		}
		d.habits = append(d.habits, unsaidState(&rs[members[0]])+missedVariance(rs, members))
		d.takes = append(d.takes, take*squares+d.habits[g])
		least, most := missedMean(rs, members)
		d.missed = append(d.missed, [2]float64{least, most})
	}
	return d
}

// list returns one row per day. An error that may or may not be shared by a day's takes is
// taken as shared, and small scatter does not reduce a day's uncertainty below that of its
// takes.
func (d *days) list(coverage float64) (out []Day) {
	for g, members := range d.groups {
		day := Day{Day: d.readings[members[0]].day(), AngleDeg: d.y[g]}
		for _, i := range members {
			day.Readings = append(day.Readings, d.readings[i].ids()...)
		}
		day.StandardDeg = math.Sqrt(d.model.variance(d.weights.RawRowView(g)) + d.takes[g])
		h := normal(coverage) * day.StandardDeg
		day.IntervalDeg = beyond([2]float64{day.AngleDeg - h, day.AngleDeg + h}, d.missed[g][1], d.readings[members[0]].AtMost)
		out = append(out, day)
	}
	return out
}

// takeToTake is the variance, degrees^2, by which the takes of a group scatter beyond each
// reading's own errors; 0 if they do not, or if no group has two takes. It is for the mean of
// the takes that were read; statements about the athlete use takeVariation.
func takeToTake(rs []Reading, m *errorModel, groups [][]int) float64 {
	squares, own, freedom := scatterWithin(rs, m, groups)
	if freedom == 0 {
		return 0
	}
	return math.Max(0, squares/freedom-own)
}

// points returns the days as the data of a fit.
func (d *days) points() points {
	p := d.model.points(d.weights, d.y)
	p.varies = d.takes
	for g, v := range d.takes {
		p.scatters = append(p.scatters, v-d.habits[g])
	}
	return p
}

// byDay groups readings, which are ordered by day, by day.
func byDay(rs []Reading) (groups [][]int) {
	for i := range rs {
		if i == 0 || !rs[i].day().Equal(rs[i-1].day()) {
			groups = append(groups, nil)
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], i)
	}
	return groups
}

// pick returns the readings of the groups.
func pick(rs []Reading, groups ...[]int) (out []Reading) {
	for _, g := range groups {
		for _, i := range g {
			out = append(out, rs[i])
		}
	}
	return out
}

// drawLine fits the line through the days. From fewestDays on, its slope is the trend; with
// two or three days it only estimates how much the days vary, and the last day is compared
// with the first.
func (t *Trend) drawLine(d *days, coverage float64) error {
	n := len(d.y)
	if n == 1 {
		t.Missing = missingDays(n)
		return nil
	}
	// time is in months from the middle, so that the intercept is the angle there
	first, last := t.Days[0].Day, t.Days[n-1].Day
	l := &Line{From: first, To: last, origin: first.AddDate(0, 0, int(last.Sub(first).Hours()/48)), atMost: t.AtMost}
	for _, m := range d.missed {
		l.missed = math.Max(l.missed, m[1])
	}
	x := mat.NewDense(n, 2, nil)
	for i, d := range t.Days {
		l.days = append(l.days, months(l.origin, d.Day))
		x.SetRow(i, []float64{1, l.days[i]})
	}
	prior := dayPrior()
	if n >= fewestDays {
		prior, t.DayToDay.PriorMostDeg = uniform(leastDayDeg, mostSeenDeg), mostSeenDeg
	}
	f, ok := fit(x, d.points(), prior, coverage)
	if !ok {
		return inputError("look at the readings' uncertainties", "no line can be laid through these %d days", n)
	}
	t.variation = f.extra
	t.DayToDay.use(f.extra, n, coverage)
	ends := pick(d.readings, d.groups[0], d.groups[n-1])
	t.Difference = newDifference(ends, len(d.groups[0]), f.extra, 2, 2*unsaidState(&ends[0])+missedVariance(d.readings, d.groups[0])+missedVariance(d.readings, d.groups[n-1]), coverage)
	if n < fewestDays {
		t.ChangeDeg, t.SmallestDeg, t.Real = t.Difference.ChangeDeg, t.Difference.SmallestDeg, t.Difference.Real
		t.SmallestInterval = smallestInterval(t.Difference.StandardDeg*t.Difference.StandardDeg-2*f.extra.variance(), 2, f.extra, coverage)
		t.setMissing(d)
		return nil
	}
	l.fit, l.SlopeDeg, l.SlopeStandardDeg, l.ResidualsDeg = f, f.b[1], f.sd(0, 1), f.residuals
	h := f.half(0, 1)
	l.SlopeIntervalDeg = [2]float64{l.SlopeDeg - h, l.SlopeDeg + h}
	l.ChiSquared, l.DegreesOfFreedom, l.Probability, l.Birge = f.chi2, f.freedom, f.p, math.Sqrt(f.chi2/f.freedom)
	l.OverDispersed, l.ExtraDeg = f.p < overDispersed, f.extra.deg()
	t.Line = l
	length := months(first, last)
	t.ChangeDeg, t.SmallestDeg = l.SlopeDeg*length, h*length
	t.Real = math.Abs(t.ChangeDeg) > t.SmallestDeg
	stated, times := f.middle.variance(&f.points, []float64{0, length})
	t.SmallestInterval = smallestInterval(stated, times, f.extra, coverage)
	if t.AskedDeg != nil {
		t.Reach = l.reach(*t.AskedDeg, t.AtMost)
	}
	if !t.Real {
		t.NextDay = l.nextDay()
	}
	return nil
}

// smallestInterval is the interval of the smallest real change, degrees, from the interval
// of the variation in it. stated is the variance of the change from the stated errors, and
// times the factor of the variance of v in it.
func smallestInterval(stated, times float64, v variation, coverage float64) *[2]float64 {
	out := v.interval(coverage)
	for k, sd := range out {
		out[k] = normal(coverage) * math.Sqrt(stated+times*sd*sd)
	}
	return &out
}

func (t *Trend) note(like []Reading, merged []string) {
	addNote := func(format string, a ...any) { t.Notes = append(t.Notes, fmt.Sprintf(format, a...)) }
	if l := t.Line; l != nil && l.OverDispersed {
		addNote("the readings scatter %.1f times as much about the line as their uncertainties say: the band is that much wider", l.Birge)
	}
	if note := MissedNote(like, "intervals go on to there, and differences allow for it"); note != "" {
		t.Notes = append(t.Notes, note)
	}
	t.Notes = append(t.Notes, merged...)
	if len(t.LeftOut) > 0 {
		addNote("%d of %d readings are of another kind and were left out", len(t.LeftOut), len(t.LeftOut)+len(like))
	}
	if t.State == "" {
		addNote("nobody said whether the athlete was cold or warm; range differs by it")
	}
	addNote("%s", t.DayToDay.sentence())
	if t.Reach != nil && t.Reach.Status == Coming {
		addNote("the day is that of a straight line, with the same gain every month; gains level off, so a day far ahead is the earliest and not the likeliest")
	}
}
