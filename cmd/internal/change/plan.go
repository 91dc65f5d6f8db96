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
	OwnDays   int       `json:"own_days"` // the athlete's days from which DayDeg is estimated; 0: none
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

// NewPlan computes what each set-up would find, with each number of takes and each time
// between days.
func NewPlan(setups []Setup, opt PlanOptions) (*Plan, error) {
	opt.fill()
	span := opt.By.Sub(opt.From).Hours() / 24
	if span < float64(PlanEvery[len(PlanEvery)-1]) {
		return nil, inputError("give a later day", "by %s there is no time for a second day with a reading", opt.By.Format(time.DateOnly))
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
				w.FoundDeg = c.smallestFound(opt.Chance, day) * span / float64((n-1)*every)
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
		return nil, inputError("give an earlier day", "until %s are more than two years: a plan has %d days with a reading at most", opt.By.Format(time.DateOnly), mostPlanDays)
	}
	p.note()
	p.Sentence = p.sentence()
	return p, nil
}

// variationsFor returns how much the athlete varies from day to day and from take to take, and the
// number of her days from which the first is estimated.
func variationsFor(opt *PlanOptions) (day variation, take float64, days int) {
	// root of the mean square of the prior of takeVariation, 0 to 4 degrees, 2.3: within
	// what published studies found between two trials of one session
	day, take = uniform(leastDayDeg, mostDayDeg), uniform(0, mostTakeDeg).deg()
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

// SmallestFound is the smallest change, degrees, that is found in the promised share of cases with the
// given number of days, every days apart, and takes a day like r.
func SmallestFound(r Reading, opt PlanOptions, days, takes, every int) (float64, error) {
	if days < 2 || takes < 1 || every < 1 {
		return 0, inputError("give two days or more", "%d days with %d takes every %d days make no change", days, takes, every)
	}
	opt.fill()
	day, take, _ := variationsFor(&opt)
	return newCourse(&r, days, takes, every, take, opt.Coverage).smallestFound(opt.Chance, day), nil
}

// fill sets the defaults.
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

// WayWords words how takes are made: "two takes a day, a day every two weeks".
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

// sentence is the plan in one sentence: what finds the change with the fewest takes, and what
// cannot.
func (p *Plan) sentence() string {
	asked := fmt.Sprintf("a change of %g° by %s", p.ChangeDeg, p.By.Format("2 January 2006"))
	if p.Best != nil {
		return fmt.Sprintf("%s would be found in %.0f of 10 cases with %d takes in all: %s, %s", asked, 10*p.Best.Chance, p.Best.Days*p.Best.Takes, p.Best.WayWords(), p.Best.Setup)
	}
	nearest := &p.Ways[0]
	for i := range p.Ways {
		if p.Ways[i].FoundDeg < nearest.FoundDeg {
			nearest = &p.Ways[i]
		}
	}
	return fmt.Sprintf("%s is too small to be found by then in %.0f of 10 cases by any of these ways; the nearest, %s, %s, would find %.0f°",
		asked, 10*p.Chance, nearest.WayWords(), nearest.Setup, math.Ceil(nearest.FoundDeg))
}

// Setups lists the set-ups that are compared.
func (p *Plan) Setups() (out []string) {
	for i := range p.Ways {
		if s := p.Ways[i].Setup; !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// SetupSays says with how few takes a set-up finds the change by the day, or else in how many months.
func (p *Plan) SetupSays(setup string) string {
	var least *PlanWay
	for i := range p.Ways {
		if w := &p.Ways[i]; w.Setup == setup && w.Finds && (least == nil || w.Days*w.Takes < least.Days*least.Takes) {
			least = w
		}
	}
	if least != nil {
		return fmt.Sprintf("finds it by then: %s, %d takes in all", least.WayWords(), least.Days*least.Takes)
	}
	w := p.Nearest(setup)
	if w.MoreMonths > 0 {
		return fmt.Sprintf("not by then; %s, find it in %.0f months", w.WayWords(), math.Ceil(w.MoreMonths))
	}
	return fmt.Sprintf("not by then, nor with %d days, %s", mostPlanDays, w.WayWords())
}

func (p *Plan) note() {
	addNote := func(format string, a ...any) { p.Notes = append(p.Notes, fmt.Sprintf(format, a...)) }
	from := "as published studies of such movements found it"
	switch {
	case p.Said:
		from = "as it was said"
	case p.OwnDays > 0:
		from = fmt.Sprintf("from %s of this athlete and published studies", plural(p.OwnDays, "day", "days"))
	}
	addNote("an athlete varies from day to day, here by %.1f° (one standard deviation), %s: more takes on one day do not average that out, more days do", p.DayDeg, from)
	addNote("from take to take of one day by %.1f° (one standard deviation)", p.TakeDeg)
	addNote("one rater and one set-up throughout, both named, and the same side and state each time: what these add cancels in a change; else it takes more")
	addNote("the change is taken to come about evenly from %s on; an athlete whose change slows down is found later", p.From.Format("2 January 2006"))
	addNote("of 100 athletes who change by exactly this much, %.0f are found and %.0f are missed", 100*p.Chance, 100*(1-p.Chance))
}
