package chart

import (
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// RulerData is one reading.
type RulerData struct {
	Who     string // the athlete's pseudonym, or empty
	Reading *reading.Reading
}

// ChangeData is a measure of one athlete over months.
type ChangeData struct {
	Who     string
	Measure string // empty: that of the first trend
	// Trends holds one trend, or one for each side.
	Trends []*change.Trend
	// Readings are drawn one by one with their states; those that a trend left out,
	// by ID, are drawn faint. Empty: the trends' days are drawn.
	Readings []change.Reading
	Sides    *change.Asymmetry // left minus right, or nil
	Statures []Stature         // by day; each change is written below the dates
}

// Stature is an athlete's height on a day.
type Stature struct {
	Day time.Time
	Cm  float64
}

// StepsData holds differences within sessions, such as before and after.
type StepsData struct {
	Who      string
	Measure  string
	Steps    []change.Step
	AskedDeg *float64
	AtMost   bool
}

// ScreenData is an athlete's screen: the levels and gaps of one day.
type ScreenData struct {
	Who    string
	Screen *change.Screen
}

// SquadData is a session of many athletes.
type SquadData struct {
	Title string // "" is "the squad"
	Day   string // as printed, or empty
	Rows  []SquadRow
}

// SquadRow is one athlete of a squad: a reading, or the reason why there is none.
type SquadRow struct {
	Who     string
	Note    string           // a second line under the name: condition, state, side; or empty
	Reading *reading.Reading // nil: Reason says why
	Reason  string
	Gap     string // range, control or use, if a screen found one; or empty
}

// AgreementData is the agreement of two methods or raters on the same frames.
type AgreementData struct {
	Title         string // "" is "agreement"
	First, Second string // names of the two raters or methods
	Agreement     *change.Agreement
}

// BudgetData is the uncertainty budget of a reading.
type BudgetData struct {
	Who     string
	Reading *reading.Reading
	// Name returns the printed name of a source; nil prints the source's own name.
	Name func(source string) string
}

// GroupData is the change of a measure of several athletes.
type GroupData struct {
	Title string // "" is "the group"
	Group *change.Group
}

// checkReading returns an error for a reading that cannot be drawn. An unknown interval is
// accepted.
func checkReading(r *reading.Reading) error {
	if r == nil {
		return draw.Problem("read a frame first", "there is no reading to draw")
	}
	if !draw.Angles(r.AngleDeg) {
		return draw.Problem(draw.ReadAgain, "the reading's angle (%g) is not an angle in degrees", r.AngleDeg)
	}
	if err := draw.CheckDensity(r.Density); err != nil {
		return err
	}
	if r.Skill != nil && r.Verdict != nil {
		return draw.CheckVerdict(*r.Skill, *r.Verdict, true)
	}
	return nil
}
