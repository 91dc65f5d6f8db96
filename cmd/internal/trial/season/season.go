// Package season simulates the readings of athletes over months, with errors that stay
// the same from take to take: of the body, the rater, the camera and the day. The truth is
// known, so that studies can count how often a statement about several readings is right.
// It shares no code with what is tested; only tests and studies use it.
package season

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

// Plan says what is simulated. Angles are in degrees.
type Plan struct {
	Days, Takes int     // takes a day, of each side and condition
	SlopeDeg    float64 // change a month
	DayDeg      float64 // standard deviation of the athlete's angle from day to day
	TakeDeg     float64 // and from take to take
	Sides       []string
	Conditions  []Condition
	Setups      int // camera set-ups over the season, at least 1
	Raters      int // raters over the season, 1 or 2; 0: 1
	// FramesOff is how many frames the frame picked in the skill may be away from the widest
	// moment; 0: none.
	FramesOff float64
	Named     bool // readings name their rater and set-up
}

// Condition is a name and how much it adds to the athlete's angle.
type Condition struct {
	Name   string
	AddDeg float64
}

// Reading is one take's reading.
type Reading struct {
	Day                           time.Time
	Side, Condition, Rater, Setup string
	AngleDeg, StandardDeg         float64
	Sources                       map[string]float64 // stated standard uncertainty of each
	DayTrueDeg                    float64            // the athlete's angle on the day
	LineTrueDeg                   float64            // without the day's own deviation
	OneFrame                      bool               // from one picked frame, which may have missed the widest moment
}

// Start is the first day.
var Start = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

// startDeg is the athlete's angle on the first day.
const startDeg = 150.0

// Stated standard uncertainties, degrees: about those of a split from a picture whose camera
// was set up by eye, with a sticker on each landmark.
var stated = map[string]float64{"placement": 0.8, "landmark": 2.2, "oblique": 1.5, "perspective": 0.7, "lens": 0.4, "depth": 0.9}

// constant gives which part of a source's variance stays the same, and for whom. The part
// is drawn between two bounds for each season, since nobody knows it. About half of the
// error in feeling for a bone is the rater's habit; the lens and the distance of the camera
// stay nearly the same within one set-up; half of how far parts of the body are off the
// plane of motion belongs to the body; half of the camera's obliqueness stays for a session.
var constant = []struct {
	source    string
	low, high float64
	whose     func(athlete int, day, side, rater, setup string) string
}{
	{"landmark", 0.3, 0.7, func(_ int, _, side, rater, _ string) string { return rater + side }},
	{"lens", 0.8, 1, func(_ int, _, _, _, setup string) string { return setup }},
	{"perspective", 0.8, 1, func(_ int, _, _, _, setup string) string { return setup }},
	{"depth", 0.3, 0.7, func(athlete int, _, side, _, setup string) string { return fmt.Sprint(setup, side, athlete) }},
	{"oblique", 0.3, 0.7, func(_ int, day, _, _, setup string) string { return setup + day }},
}

// DaysBetween is the mean time between two days of a season.
const DaysBetween = 21

// Make simulates one athlete's season. Days are DaysBetween apart, plus or minus four.
func Make(p Plan, rnd *rand.Rand) []Reading { return Squad(p, []float64{p.SlopeDeg}, rnd)[0] }

// Squad simulates the seasons of several athletes; slopes are their changes a month. All are
// read by the same raters with the same cameras, whose errors are the same for all.
func Squad(p Plan, slopes []float64, rnd *rand.Rand) (out [][]Reading) {
	parts := map[string]float64{}
	for _, c := range constant {
		parts[c.source] = c.low + (c.high-c.low)*rnd.Float64()
	}
	errors := map[string]float64{} // constant errors in standard deviations, by whose
	for k, slope := range slopes {
		p.SlopeDeg = slope
		out = append(out, makeOne(p, k, parts, errors, rnd))
	}
	return out
}

// makeOne simulates the season of athlete k.
func makeOne(p Plan, k int, parts, errors map[string]float64, rnd *rand.Rand) (out []Reading) {
	sides, conditions := p.Sides, p.Conditions
	if sides == nil {
		sides = []string{"left"}
	}
	if conditions == nil {
		conditions = []Condition{{Name: "in-skill"}}
	}
	// Half of how far off a frame is picked is a habit. At 60 frames a second the angle of a leap
	// falls by about 0.4 degrees times the square of the frames from its widest moment.
	habit, fall := 2*rnd.Float64()-1, 0.25+0.3*rnd.Float64()
	total := stated["placement"] * stated["placement"] // the only source without a constant part
	for _, c := range constant {
		total += stated[c.source] * stated[c.source]
	}
	for day := range p.Days {
		date := Start.AddDate(0, 0, day*DaysBetween+rnd.IntN(9)-4)
		line := startDeg + p.SlopeDeg*Months(date)
		deviation := p.DayDeg * rnd.NormFloat64()
		setup := fmt.Sprint("place ", day*max(1, p.Setups)/p.Days)
		rater := []string{"Iris", "Lio"}[day*max(1, p.Raters)/p.Days]
		for _, side := range sides {
			for _, condition := range conditions {
				for range p.Takes {
					r := Reading{Day: date, Side: side, Condition: condition.Name, StandardDeg: math.Sqrt(total), Sources: map[string]float64{},
						LineTrueDeg: line + condition.AddDeg, DayTrueDeg: line + condition.AddDeg + deviation}
					if p.Named {
						r.Rater, r.Setup = rater, setup
					}
					r.AngleDeg = r.DayTrueDeg + p.TakeDeg*rnd.NormFloat64() + stated["placement"]*rnd.NormFloat64()
					r.Sources["placement"] = stated["placement"]
					for _, c := range constant {
						u := stated[c.source]
						r.Sources[c.source] = u
						key := c.source + c.whose(k, date.Format(time.DateOnly), side, rater, setup)
						if _, ok := errors[key]; !ok {
							errors[key] = rnd.NormFloat64()
						}
						part := parts[c.source]
						r.AngleDeg += u * (math.Sqrt(part)*errors[key] + math.Sqrt(1-part)*rnd.NormFloat64())
					}
					if condition.Name == "in-skill" && p.FramesOff > 0 {
						off := p.FramesOff * (habit + 2*rnd.Float64() - 1) / 2
						r.AngleDeg -= fall * off * off
						r.OneFrame = true
					}
					out = append(out, r)
				}
			}
		}
	}
	return out
}

// Months returns the time from the first day in months of 365.25/12 days.
func Months(day time.Time) float64 { return day.Sub(Start).Hours() / 24 / (365.25 / 12) }
