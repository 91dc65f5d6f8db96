package change

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

func chiSquaredQuantile(p, freedom float64) float64 {
	return distuv.ChiSquared{K: freedom}.Quantile(p)
}

// say is the plan in one sentence: what finds the change with the fewest takes, and what
// cannot.
func (p *Plan) say() string {
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

// SetupSays says whether a set-up finds the change by the day, with how little, and else in
// how many months.
func (p *Plan) SetupSays(setup string) string {
	var least *PlanWay
	for i := range p.Ways {
		if w := &p.Ways[i]; w.Setup == setup && w.Finds && (least == nil || w.Days*w.Takes < least.Days*least.Takes) {
			least = w
		}
	}
	if least != nil {
		return fmt.Sprintf("finds it by then: %s, are %d in all", least.WayWords(), least.Days*least.Takes)
	}
	w := p.Nearest(setup)
	if w.MoreMonths > 0 {
		return fmt.Sprintf("not by then; %s, find it in %.0f months", w.WayWords(), math.Ceil(w.MoreMonths))
	}
	return fmt.Sprintf("not by then, nor with %d days, %s", mostPlanDays, w.WayWords())
}

func (p *Plan) note() {
	say := func(format string, a ...any) { p.Notes = append(p.Notes, fmt.Sprintf(format, a...)) }
	from := "as published studies of such movements found it"
	switch {
	case p.Said:
		from = "as it was said"
	case p.OwnDays > 0:
		from = fmt.Sprintf("from %s of this athlete and published studies", plural(p.OwnDays, "day", "days"))
	}
	say("an athlete varies from day to day, here by %.1f° (one standard deviation), %s: more takes on one day do not average that out, more days do", p.DayDeg, from)
	say("from take to take of one day by %.1f° (one standard deviation)", p.TakeDeg)
	say("one rater and one set-up throughout, both named, and the same side and state each time: what these add cancels in a change; else it takes more")
	say("the change is taken to come about evenly from %s on; an athlete whose change slows down is found later", p.From.Format("2 January 2006"))
	say("a share of cases is of athletes who change by exactly so much: %.0f of 10 found is %.0f of 10 missed", 10*p.Chance, 10*(1-p.Chance))
}
