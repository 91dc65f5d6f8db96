package change

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// DayToDay is how much an athlete's angle varies from day to day. UsedDeg is the standard
// deviation that enters differences between days: the scatter of the athlete's days about
// the trend beyond the errors of reading, combined with a prior (see variation). The
// fields from Known on are a one-way analysis of variance with random effects, of the
// angles as read, errors included.
type DayToDay struct {
	UsedDeg      float64    `json:"used_deg"`          // standard deviation from day to day, root of the mean square
	UsedInterval [2]float64 `json:"used_interval_deg"` // with the required coverage
	PriorMostDeg float64    `json:"prior_most_deg"`    // upper end of the prior, which is uniform

	Known          bool        `json:"known"`
	Why            string      `json:"why,omitempty"` // why it is not known
	Days           int         `json:"days"`
	Readings       int         `json:"readings"`
	WithinDeg      float64     `json:"within_deg,omitempty"`          // standard deviation from take to take
	WithinInterval [2]float64  `json:"within_interval_deg,omitempty"` // by chi-squared, of the coverage asked
	BetweenDeg     float64     `json:"between_deg"`                   // standard deviation from day to day; 0 if the scatter of takes explains all of it
	AboutLine      bool        `json:"about_line"`                    // days are compared with a line through them, not with their mean
	F              float64     `json:"f,omitempty"`
	Probability    float64     `json:"probability,omitempty"` // of an F at least as large, if days did not differ
	WithinFreedom  int         `json:"within_degrees_of_freedom,omitempty"`
	BetweenFreedom int         `json:"between_degrees_of_freedom,omitempty"`
	Elsewhere      []Published `json:"published"` // published figures for such readings
}

// Published is a figure from a publication.
type Published struct {
	What   string `json:"what"`
	Source string `json:"source"`
	Mark   string `json:"mark"` // seen: read in the source; computed: calculated from it
}

// elsewhere lists the published figures that are printed beside an athlete's own, by
// measure.
var elsewhere = map[string][]Published{
	"shoulder-flexion": {
		{"active shoulder flexion with a digital inclinometer: smallest detectable change (90 %) 8° between raters", "Kolber 2011, Physiother Theory Pract 27:176", "seen"},
		{"passive total shoulder flexion with an inclinometer: standard error of measurement 12.3°", "Dougherty 2015, J Manipulative Physiol Ther 38:218", "seen"},
		{"the same: smallest detectable change (95 %) 34°", "computed from it", "computed"},
		{"shoulders of patients by five methods, photographs among them: standard error of measurement 11 to 23° within a rater, 14 to 25° between", "Hayes 2001, Aust J Physiother 47:289", "seen"},
	},
	"hip-split": {
		{"no published figure for a split from one camera was found: the athlete's own repeated takes have to supply it", "none", "seen"},
	},
}

// estimateDayToDay takes comparable readings (see alike), ordered by day. From four days
// on, days are compared with a line through them, since progress over months is not
// scatter. coverage is that of the intervals.
func estimateDayToDay(rs []Reading, coverage float64) DayToDay {
	groups := byDay(rs)
	d := DayToDay{Days: len(groups), Readings: len(rs), Elsewhere: []Published{}}
	if len(rs) > 0 {
		d.Elsewhere = append(d.Elsewhere, elsewhere[rs[0].Measure]...)
		d.PriorMostDeg = mostDayDeg
		d.use(dayPrior(), len(groups), coverage)
	}
	k, n := len(groups), len(rs)
	if n == k || k < 2 {
		d.Why = "how much takes of one day vary is not known: it takes two takes on each of several days"
		return d
	}
	values := make([][]float64, k)
	times := make([]float64, k)
	for g, members := range groups {
		times[g] = months(rs[0].day(), rs[members[0]].day())
		for _, i := range members {
			values[g] = append(values[g], rs[i].AngleDeg)
		}
	}
	if k < fewestDays {
		times = nil
	}
	a := oneWay(values, times)
	if a.squaresWithin == 0 {
		d.Why = "the takes of a day are alike to the last digit: they tell nothing about how much the athlete varies"
		return d
	}
	d.Known, d.AboutLine, d.F, d.Probability, d.WithinFreedom, d.BetweenFreedom = true, times != nil, a.f(), a.p(), a.within, a.between
	d.WithinDeg, d.BetweenDeg = math.Sqrt(a.meanWithin()), math.Sqrt(a.component())
	d.WithinInterval = sdInterval(d.WithinDeg, float64(a.within), coverage)
	return d
}

// use sets the standard deviation that differences between days contain.
func (d *DayToDay) use(v variation, days int, coverage float64) {
	d.UsedDeg, d.UsedInterval, d.Days = v.deg(), v.interval(coverage), days
}

func (d *DayToDay) sentence() string {
	from := "taken from published studies, since these days do not tell"
	if d.Days > 2 {
		from = fmt.Sprintf("from %s of this athlete and published studies", plural(d.Days, "day", "days"))
	}
	between := fmt.Sprintf("%.1f to %.1f", d.UsedInterval[0], d.UsedInterval[1])
	if d.UsedInterval[1] < leastDayDeg+0.1 {
		between = "the least that is taken for granted"
	}
	return fmt.Sprintf("an athlete varies from day to day, here by a standard deviation of %.1f° (%s), %s; it is part of every difference between days",
		d.UsedDeg, between, from)
}

// analysis is a one-way analysis of variance.
type analysis struct {
	squaresWithin, squaresBetween float64
	within, between               int // degrees of freedom
	// size is the factor of the variance between groups in the expected sum of squares
	// between them: about the mean group size times the degrees of freedom.
	size float64
}

// oneWay is the analysis of variance of groups of values. With times, group means are
// compared with the line through them, weighted by group size; without (nil), with the
// overall mean.
func oneWay(groups [][]float64, times []float64) analysis {
	k, n := len(groups), 0
	means, sizes := make([]float64, k), make([]float64, k)
	var a analysis
	for g, vs := range groups {
		for _, v := range vs {
			means[g] += v / float64(len(vs))
		}
		for _, v := range vs {
			a.squaresWithin += (v - means[g]) * (v - means[g])
		}
		sizes[g] = float64(len(vs))
		n += len(vs)
	}
	p := 1
	if times != nil {
		p = 2
	}
	x := mat.NewDense(k, p, nil)
	for g := range groups {
		x.Set(g, 0, 1)
		if p == 2 {
			x.Set(g, 1, times[g])
		}
	}
	w := mat.NewDiagDense(k, sizes)
	// b = (x'wx)^-1 x'w means
	var xw, xwx, right mat.Dense
	xw.Mul(x.T(), w)
	xwx.Mul(&xw, x)
	right.Mul(&xw, mat.NewDense(k, 1, means))
	var b mat.Dense
	if err := b.Solve(&xwx, &right); err != nil { // all groups at one time: no line
		return oneWay(groups, nil)
	}
	for g := range groups {
		var at float64
		for c := range p {
			at += x.At(g, c) * b.At(c, 0)
		}
		a.squaresBetween += sizes[g] * (means[g] - at) * (means[g] - at)
	}
	// E[squares between] = (k-p) within + (n - tr((x'wx)^-1 x'w^2x)) between
	var xwwx, inner mat.Dense
	xwwx.Mul(&xw, xw.T())
	if err := inner.Solve(&xwx, &xwwx); err != nil {
		return oneWay(groups, nil)
	}
	a.within, a.between, a.size = n-k, k-p, float64(n)-mat.Trace(&inner)
	return a
}

func (a analysis) meanWithin() float64 { return a.squaresWithin / float64(a.within) }

// component is the variance between groups; 0 if the scatter within groups explains all
// of it.
func (a analysis) component() float64 {
	return math.Max(0, (a.squaresBetween-float64(a.between)*a.meanWithin())/a.size)
}

func (a analysis) f() float64 { return a.squaresBetween / float64(a.between) / a.meanWithin() }

func (a analysis) p() float64 {
	if f := a.f(); !math.IsNaN(f) && a.between > 0 && a.within > 0 {
		return distuv.F{D1: float64(a.between), D2: float64(a.within)}.Survival(f)
	}
	return math.NaN()
}

// sdInterval is the confidence interval of a standard deviation with the given degrees of
// freedom, by chi-squared.
func sdInterval(sd, freedom, coverage float64) [2]float64 {
	d := distuv.ChiSquared{K: freedom}
	return [2]float64{sd * math.Sqrt(freedom/d.Quantile((1+coverage)/2)), sd * math.Sqrt(freedom/d.Quantile((1-coverage)/2))}
}
