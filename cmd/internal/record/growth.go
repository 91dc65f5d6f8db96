package record

import (
	"fmt"
	"math"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
)

// beforeSpurtCm is the most that children grow a year before the growth spurt, cm: about 5 to 6
// (Tanner, Whitehouse and Takaishi 1966, Arch Dis Child 41:454; from memory).
const beforeSpurtCm = 6.0

// growthMonths is the time up to the last stature over which growth is computed, months: over a shorter
// one the rate is as uncertain as the spurt is large.
const growthMonths = 12

// staturesOf are the statures with which readings were made, each change, the first day
// first. entries are ordered by day.
func staturesOf(entries []*journal.Entry) (out []Stature) {
	for _, e := range entries {
		if mm := e.Request.StatureMm; mm > 0 && (out == nil || out[len(out)-1].Mm != mm) {
			out = append(out, Stature{e.Day, mm})
		}
	}
	return out
}

// chartStatures are statures for a drawing.
func chartStatures(list []Stature) (out []chart.Stature) {
	for _, s := range list {
		if day, err := time.Parse(time.DateOnly, s.Day); err == nil {
			out = append(out, chart.Stature{Day: day, Cm: s.Mm / 10})
		}
	}
	return out
}

// GrowthNote says that the athlete grew faster than children do before a growth spurt, beside an angle that
// really went down (or up, where less is asked); "" if not. What growth means for the angle is not known.
func GrowthNote(statures []Stature, trends []*change.Trend) string {
	falls := false
	for _, t := range trends {
		falls = falls || t.Real && (t.ChangeDeg < 0) != t.AtMost
	}
	if !falls || len(statures) < 2 {
		return ""
	}
	last := statures[len(statures)-1]
	to, err := time.Parse(time.DateOnly, last.Day)
	if err != nil {
		return ""
	}
	for _, first := range statures[:len(statures)-1] {
		from, err := time.Parse(time.DateOnly, first.Day)
		if err != nil || from.Before(to.AddDate(0, -growthMonths, 0)) {
			continue
		}
		years := to.Sub(from).Hours() / 24 / 365.25
		rate := (last.Mm - first.Mm) / 10 / years
		half := 1.96 * math.Sqrt2 * reading.DefaultPriors().Stature.GivenSDMm / 10 / years
		if rate <= beforeSpurtCm {
			return ""
		}
		is := "may be"
		if rate-half > beforeSpurtCm {
			is = "is"
		}
		return fmt.Sprintf("the athlete grew from %g to %g cm from %s to %s, %s cm a year; that %s faster than the 5 to 6 cm a year of children before their growth spurt (Tanner 1966, from memory). "+
			"Range of movement often falls while bones grow fast (common practice, no source); whether it does here is not known",
			first.Mm/10, last.Mm/10, desk.DateWords(from), desk.DateWords(to), fmt.Sprintf("%.0f ± %.0f", rate, math.Ceil(half)), is)
	}
	return ""
}

// Stature is an athlete's stated stature on a day, in millimetres.
type Stature struct {
	Day string  `json:"day"` // 2006-01-02
	Mm  float64 `json:"mm"`
}

// StatureWords lists each change of the stated stature, and the difference of the last from the first. How
// people measured it is not known.
func StatureWords(list []Stature) []string {
	var out []string
	for i, s := range list {
		if i > 0 && list[i-1].Mm == s.Mm {
			continue
		}
		day, err := time.Parse(time.DateOnly, s.Day)
		if err != nil {
			continue
		}
		out = append(out, fmt.Sprintf("%g cm on %s", s.Mm/10, desk.DateWords(day)))
	}
	if n := len(list); len(out) > 1 {
		if by := (list[n-1].Mm - list[0].Mm) / 10; by != 0 {
			out = append(out, fmt.Sprintf("%+g cm from the first to the last", math.Round(10*by)/10))
		}
	}
	return out
}
