package record

import (
	"fmt"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/sheet"
)

// MonthsPage returns the data of the page of an athlete's months.
func MonthsPage(c *Change) sheet.MonthsInput {
	in := sheet.MonthsInput{Who: c.Athlete, Measure: c.Measure, Trends: c.Trends, Readings: c.Readings, Sides: c.Sides, NoSides: c.NoSides, Statures: chartStatures(c.Statures),
		WarmUp: c.WarmUp, Sessions: c.Sessions, Notes: c.Notes, Cautions: c.Cautions}
	for i := range c.Beside {
		in.Beside = append(in.Beside, sheet.BesideTrend{Name: c.Beside[i].Name(), Trend: c.Beside[i].Trend})
	}
	if c.Unlike != nil {
		in.Notes = append([]string{WordsUnlike + ", " + c.Unlike.Words()}, in.Notes...)
	}
	return in
}

// WordsUnlike is the heading of a difference between unlike states.
const WordsUnlike = "between unlike states"

// Words are the difference: from when to when, by how much, and whether it is real.
func (b *BetweenStates) Words() string {
	return fmt.Sprintf("%s to %s: %s, %s", desk.DateWords(b.From), desk.DateWords(b.To), desk.SignedPlusMinus(b.ChangeDeg, b.SmallestDeg), desk.RealWords(b.Real, b.SmallestDeg))
}

// ScreenPage returns the data of the page of an athlete's screen.
func ScreenPage(r *Screen) sheet.ScreenInput {
	in := sheet.ScreenInput{Who: r.Athlete, Measure: r.Measure, Title: r.Title, Notes: r.Notes}
	for _, one := range r.Screens {
		in.Screens = append(in.Screens, sheet.SideScreen{Side: one.Side, Screen: one.Screen})
	}
	return in
}

// ContrastPage returns the data of the page of a contrast.
func ContrastPage(r *Contrast) sheet.ContrastInput {
	return sheet.ContrastInput{Who: r.Athlete, Sides: r.Sides, Notes: r.Notes}
}
