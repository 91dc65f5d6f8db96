package chart

import (
	"time"

	"ecart/cmd/internal/change"
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
	// Trends holds one trend, or one of each side. Their sides tell them apart.
	Trends []*change.Trend
	// Readings are drawn one by one with their states; those that a trend left out,
	// by ID, are drawn faint. Empty: the trends' days are drawn.
	Readings []change.Reading
	Sides    *change.Asymmetry // left minus right, or nil
	Statures []Stature         // how tall the athlete was, the first day first; each change is written below the days
}

// Stature is how tall an athlete was on a day.
type Stature struct {
	Day time.Time
	Cm  float64
}

// StepsData is before and after within sessions.
type StepsData struct {
	Who      string
	Measure  string
	Steps    []change.Step
	AskedDeg *float64
	AtMost   bool
}

// ScreenData is the three gaps of one day.
type ScreenData struct {
	Who    string
	Screen *change.Screen
}

// SquadData is a session of many athletes.
type SquadData struct {
	Title string // "" is "the squad"
	Day   string // as it shall be written, or empty
	Rows  []SquadRow
}

// SquadRow is one athlete of a squad: a reading, or the reason why there is none.
type SquadRow struct {
	Who     string
	Note    string           // a second line under the name: condition, state, side; or empty
	Reading *reading.Reading // nil: Reason says why
	Reason  string
	Gap     string // range, control or use, where a screen found it; or empty
}

// AgreementData is how two ways of reading the same frames agree.
type AgreementData struct {
	Title         string // "" is "agreement"
	First, Second string // the two raters, or the two ways
	Agreement     *change.Agreement
}

// BudgetData is what makes a reading uncertain.
type BudgetData struct {
	Who     string
	Reading *reading.Reading
	// Name writes a source for people; nil takes the source as it is called.
	Name func(source string) string
}

// GroupData is how a measure of several athletes changed.
type GroupData struct {
	Title string // "" is "the group"
	Group *change.Group
}
