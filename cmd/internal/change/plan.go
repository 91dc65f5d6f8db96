package change

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"ecart/cmd/internal/text"
)

// Limits and defaults of a plan.
const (
	PlanChance = 0.8 // promised share of cases in which a change is found: eight of ten

	mostPlanDays  = 27 // with a reading: one a week for half a year; more are not practical
	mostPlanTakes = 5
)

// PlanTakes are the numbers of takes a day that a plan compares, and PlanEvery the days from
// one day with a reading to the next.
var (
	PlanTakes = []int{1, 2, 3, mostPlanTakes}
	PlanEvery = []int{30, 14, 7}
)

// Setup is how takes are made, as a typical reading of it.
type Setup struct {
	Name    string
	Reading Reading // its uncertainty and sources; angle and day do not count
}

// PlanOptions is what a plan is for. Takes are made by one rater with one set-up, both named, and
// in one state: what they have in common then cancels in a change.
type PlanOptions struct {
	ChangeDeg float64   // worth finding
	From, By  time.Time // between which it comes about, evenly
	Chance    float64   // promised share of cases in which it is found; 0: PlanChance
	Coverage  float64   // of the interval that it has to exceed; 0: 0.95

	// How much the athlete varies, as standard deviations in degrees; nil: by Before, else as
	// published studies say.
	DayDeg, TakeDeg *float64
	Before          []Reading // the athlete's own readings of the measure
}

// Plan says with which takes a change would be found.
type Plan struct {
	ChangeDeg float64   `json:"change_deg"`
	From      time.Time `json:"from"`
	By        time.Time `json:"by"`
	Chance    float64   `json:"chance"`
	Coverage  float64   `json:"coverage"`
	DayDeg    float64   `json:"day_to_day_deg"` // root of the mean square
	TakeDeg   float64   `json:"take_to_take_deg"`
	OwnDays   int       `json:"own_days"` // of the athlete, on which DayDeg rests; 0: none
	Said      bool      `json:"day_to_day_was_said"`
	Ways      []PlanWay `json:"ways"`
	Best      *PlanWay  `json:"best,omitempty"` // that finds the change by the day with the fewest takes; nil: none does
	Sentence  string    `json:"sentence"`
	Notes     []string  `json:"notes"`
}

// PlanWay is one way to make takes, and what it would find.
type PlanWay struct {
	Setup     string  `json:"setup"`
	SingleDeg float64 `json:"single_take_interval_deg"` // half-width of one take's interval
	Takes     int     `json:"takes_a_day"`
	Every     int     `json:"every_days"`
	Days      int     `json:"days"`               // with a reading, by the day
	FoundDeg  float64 `json:"smallest_found_deg"` // the smallest change that is found in the promised share of cases
	Chance    float64 `json:"chance"`             // in which the change asked for is found
	Finds     bool    `json:"finds"`              // Chance is the promised share or more
	// MoreMonths is how many months it takes to find the change with days like these; 0: more than
	// mostPlanDays of them do not. Only for the nearest way of a set-up that does not find it by
	// the day.
	MoreMonths float64 `json:"months_needed,omitempty"`
}

// NewPlan works out what each set-up would find, with each number of takes and each time
// between days.
func NewPlan(setups []Setup, opt PlanOptions) (*Plan, error) {
	opt.fill()
	span := opt.By.Sub(opt.From).Hours() / 24
	if span < float64(PlanEvery[len(PlanEvery)-1]) {
		return nil, wrong("give a later day", "by %s there is no time for a second day with a reading", opt.By.Format(time.DateOnly))
	}
	p := &Plan{ChangeDeg: opt.ChangeDeg, From: opt.From, By: opt.By, Chance: opt.Chance, Coverage: opt.Coverage, Notes: []string{}}
	day, take, days := variationsFor(&opt)
	p.DayDeg, p.TakeDeg, p.OwnDays, p.Said = day.deg(), take, days, opt.DayDeg != nil
	for _, s := range setups {
		for _, takes := range PlanTakes {
			for _, every := range PlanEvery {
				n := int(span)/every + 1
				if n < 2 || n > mostPlanDays {
					continue
				}
				c := newCourse(&s.Reading, n, takes, every, take, opt.Coverage)
				w := PlanWay{Setup: s.Name, SingleDeg: normal(opt.Coverage) * s.Reading.StandardDeg, Takes: takes, Every: every, Days: n}
				w.Chance = c.chance(opt.ChangeDeg*float64((n-1)*every)/span, day) // the part of it up to the last day
				w.FoundDeg = c.found(opt.Chance, day) * span / float64((n-1)*every)
				w.Finds = w.Chance >= opt.Chance
				p.Ways = append(p.Ways, w)
				if w.Finds && (p.Best == nil || w.Days*w.Takes < p.Best.Days*p.Best.Takes) {
					best := w
					p.Best = &best
				}
			}
		}
	}
	for _, s := range setups {
		if w := p.Nearest(s.Name); w != nil && !w.Finds {
			w.MoreMonths = monthsNeeded(&s.Reading, w.Days, w.Takes, w.Every, take, &opt, day)
		}
	}
	if len(p.Ways) == 0 {
		return nil, wrong("give an earlier day", "until %s are more than two years: a plan has %d days with a reading at most", opt.By.Format(time.DateOnly), mostPlanDays)
	}
	p.note()
	p.Sentence = p.say()
	return p, nil
}

// variationsFor is how much the athlete varies from day to day and from take to take, and
// on how many days of hers the first rests.
func variationsFor(opt *PlanOptions) (day variation, take float64, days int) {
	// root of the mean square of the prior of takeVariation, 0 to 4 degrees, 2.3: within
	// what published studies found between two trials of one session
	day, take = evenly(leastDayDeg, mostDayDeg), evenly(0, mostTakeDeg).deg()
	if len(opt.Before) > 0 {
		if t, err := NewTrend(opt.Before, Options{}); err == nil && len(t.Days) > 2 {
			day, days = t.variation, len(t.Days)
		}
	}
	if opt.DayDeg != nil {
		day, days = variation{{sd: *opt.DayDeg, weight: 1}}, 0
	}
	if opt.TakeDeg != nil {
		take = *opt.TakeDeg
	}
	return day, take, days
}

// course is a row of days with readings as they are planned. Its results are those of
// [NewTrend] with readings that scatter by so much.
type course struct {
	n       int
	length  float64   // months
	stated  float64   // variance of a day's mean that does not cancel between days, degrees^2
	take    float64   // further variance of a day's mean from take to take, degrees^2
	slopes  float64   // variance of the change for a variance of 1 of each day
	scatter []float64 // root of the mean squared residual of the days, degrees
	half    []float64 // half-width of the interval of the change at that scatter
}

// newCourse lays out n days, so many days apart, with so many takes like r each. take is
// the standard deviation from take to take, degrees.
func newCourse(r *Reading, n, takes, every int, take, coverage float64) *course {
	first := time.Date(2000, 1, 3, 0, 0, 0, 0, time.UTC) // any day
	single := newErrorModel([]Reading{planned(r, first, 0), planned(r, first, 1)}).own[0]
	var rs []Reading
	for day := range n {
		for k := range takes {
			one := planned(r, first.AddDate(0, 0, day*every), day*takes+k)
			if takes > 1 { // scatter as a typical day's takes do
				one.AngleDeg += math.Sqrt(single+take*take) * pattern(k, takes)
			}
			rs = append(rs, one)
		}
	}
	d := newDays(rs)
	c := &course{n: n, length: float64((n-1)*every) / month, take: take * take / float64(takes)}
	pts := d.points()
	c.stated = pts.own.At(0, 0) + pts.shared.At(0, 0) - pts.own.At(0, n-1) - pts.shared.At(0, n-1)
	var tt float64
	times := make([]float64, n)
	for i := range n {
		times[i] = (float64(i) - float64(n-1)/2) / float64(n-1) // parts of the whole
		tt += times[i] * times[i]
	}
	c.slopes = 1 / tt
	if n < fewestDays {
		c.slopes = 2 // the last day less the first
	}
	shape := residuals(times)
	for _, s := range []float64{0, 2, 4, 7, 11, 16} { // the width is read between them

		for i := range n {
			// the change is so large that it is real: what is asked is the width alone
			d.y[i] = 1000*times[i] + s*shape[i]
		}
		t := &Trend{Coverage: coverage, Days: d.list(coverage)}
		if err := t.drawLine(d, coverage); err != nil {
			continue
		}
		c.scatter, c.half = append(c.scatter, s), append(c.half, t.SmallestDeg)
		if n == 2 {
			break // nothing scatters
		}
	}
	return c
}

// planned is take k of a plan: like r, by one named rater with one named set-up; where r is of a frame that
// somebody picked, so is the take.
func planned(r *Reading, day time.Time, k int) Reading {
	out := *r
	out.ID, out.Day, out.AnyDay, out.Athlete, out.Picture, out.Take, out.IDs = int64(k+1), day, false, "the athlete", "", "", nil
	out.Rater, out.Setup, out.Side, out.State, out.Session, out.AngleDeg = "rater", "set-up", "left", "warm", "", 150
	return out
}

// pattern is value k of n that add up to 0 and have a standard deviation (n-1) of 1.
func pattern(k, n int) float64 {
	x := float64(k) - float64(n-1)/2
	return x / math.Sqrt(float64(n)*float64(n+1)/12)
}

// residuals are values at times (which add up to 0) that have no line in them, with a mean square of 1 for
// the degrees of freedom that a line leaves; zeros where it leaves none.
func residuals(times []float64) []float64 {
	n := len(times)
	out := make([]float64, n)
	if n < 3 {
		return out
	}
	var mean, along, tt, squares float64
	for i := range out {
		out[i] = float64(1 - 2*(i%2))
		if n == 3 && i == 1 {
			out[i] = -2
		}
		mean += out[i] / float64(n)
		tt += times[i] * times[i]
	}
	for i := range out {
		out[i] -= mean
		along += out[i] * times[i] / tt
	}
	for i := range out {
		out[i] -= along * times[i]
		squares += out[i] * out[i]
	}
	for i := range out {
		out[i] *= math.Sqrt(float64(n-2) / squares)
	}
	return out
}

// chance is the probability that a change of deg degrees over the course is called real, and
// not the other way: over the athlete's variation from day to day, and over how much the days
// happen to scatter.
func (c *course) chance(deg float64, day variation) (p float64) {
	for _, v := range day {
		variance := c.stated + c.take + v.sd*v.sd
		sd := math.Sqrt(variance * c.slopes)
		const steps = 12
		var of float64
		for k := range steps {
			s := 0.0
			if c.n > 2 {
				s = math.Sqrt(variance * chiSquaredQuantile((float64(k)+0.5)/steps, float64(c.n-2)) / float64(c.n-2))
			}
			of += math.Erfc((c.halfAt(s)-deg)/sd/math.Sqrt2) / 2 / steps
		}
		p += v.weight * of
	}
	return p
}

// halfAt is the half-width of the change's interval at a scatter of the days.
func (c *course) halfAt(s float64) float64 {
	for i := 1; i < len(c.scatter); i++ {
		if s <= c.scatter[i] {
			a := (s - c.scatter[i-1]) / (c.scatter[i] - c.scatter[i-1])
			return c.half[i-1] + a*(c.half[i]-c.half[i-1])
		}
	}
	last := len(c.scatter) - 1
	if last < 1 {
		return c.half[0]
	}
	rise := (c.half[last] - c.half[last-1]) / (c.scatter[last] - c.scatter[last-1])
	return c.half[last] + math.Max(0, rise)*(s-c.scatter[last])
}

// found is the smallest change over the course, degrees, that is found with the chance.
func (c *course) found(chance float64, day variation) float64 {
	low, high := 0.0, 1.0
	for c.chance(high, day) < chance && high < 360 {
		high *= 2
	}
	const halvings = 20
	for range halvings {
		if mid := (low + high) / 2; c.chance(mid, day) < chance {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

// SmallestFound is the smallest change, degrees, that is found in the promised share of
// cases over so many days, every so many days, with so many takes a day like r.
func SmallestFound(r Reading, opt PlanOptions, days, takes, every int) (float64, error) {
	if days < 2 || takes < 1 || every < 1 {
		return 0, wrong("give two days or more", "%d days with %d takes every %d days make no change", days, takes, every)
	}
	opt.fill()
	day, take, _ := variationsFor(&opt)
	return newCourse(&r, days, takes, every, take, opt.Coverage).found(opt.Chance, day), nil
}

// fill puts the usual where nothing was asked.
func (o *PlanOptions) fill() {
	if o.Chance == 0 {
		o.Chance = PlanChance
	}
	if o.Coverage == 0 {
		o.Coverage = 0.95
	}
}

// Nearest is the set-up's way that finds the smallest change; nil if it has none.
func (p *Plan) Nearest(setup string) (out *PlanWay) {
	for i := range p.Ways {
		if w := &p.Ways[i]; w.Setup == setup && (out == nil || w.FoundDeg < out.FoundDeg) {
			out = w
		}
	}
	return out
}

// monthsNeeded is how many months of days like these find the change, if the whole of it is
// there by the last day; 0: none up to mostPlanDays do.
func monthsNeeded(r *Reading, n, takes, every int, take float64, opt *PlanOptions, day variation) float64 {
	finds := func(n int) bool {
		return newCourse(r, n, takes, every, take, opt.Coverage).chance(opt.ChangeDeg, day) >= opt.Chance
	}
	most := min(mostPlanDays, horizonDays/every+1) // with a reading a month, more than two years
	if n >= most || !finds(most) {
		return 0
	}
	low, high := n, most
	for high-low > 1 {
		if mid := (low + high) / 2; finds(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return float64((high-1)*every) / month
}

// WayWords are how takes are made: "2 takes a day, every 14 days".
func (w *PlanWay) WayWords() string {
	return fmt.Sprintf("%s a day, a day %s", plural(w.Takes, "take", "takes"), EveryWords(w.Every))
}

// TakesWords are the numbers of takes a day that a plan compares, the most first: "5, 3, 2 and 1".
func TakesWords() string {
	var out []string
	for _, n := range slices.Backward(PlanTakes) {
		out = append(out, strconv.Itoa(n))
	}
	return text.And(out)
}

// EveryWords are how often there is a day with a reading.
func EveryWords(every int) string {
	switch every {
	case 7:
		return "a week"
	case 14:
		return "every two weeks"
	case 30:
		return "a month"
	}
	return fmt.Sprintf("every %d days", every)
}
