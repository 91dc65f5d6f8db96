package record

import (
	"fmt"
	"math"
	"slices"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/session"
	"ecart/cmd/internal/sheet"
	"ecart/geometry"
	"ecart/geometry/uncertainty"
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

// Words words the difference: from when to when, by how much, and whether it is real.
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

// PlanPage returns the data of the page of a plan.
func PlanPage(p *Plan) sheet.PlanInput {
	m, _ := geometry.Lookup(p.Measure)
	in := sheet.PlanInput{Title: m.Title, Who: p.Athlete, By: p.By, Change: p.ChangeDeg, Chance: p.Chance, Sentence: p.Sentence, Plan: p.Plan, Notes: p.Notes, Cautions: p.Cautions}
	for _, t := range p.Tables() {
		_, single := uncertainty.Format(0, t.SingleDeg)
		table := sheet.PlanTable{Setup: fmt.Sprintf("%s (one take ± %s°)", t.Setup, single), Says: t.Says, Every: t.Every}
		for _, row := range t.Rows {
			one := sheet.PlanRow{Takes: fmt.Sprint(row.Takes)}
			for _, c := range row.Ways {
				one.Cells = append(one.Cells, sheet.PlanCell{Deg: fmt.Sprintf("%.0f", math.Ceil(c.FoundDeg)), Finds: c.Finds})
			}
			table.Rows = append(table.Rows, one)
		}
		in.Tables = append(in.Tables, table)
	}
	return in
}

// GroupPage returns the data of the page of a group.
func GroupPage(g *Group) sheet.GroupInput {
	in := sheet.GroupInput{Title: g.Title, Group: g.Group, Cautions: g.Cautions}
	for _, class := range change.Classes {
		if line := g.ClassLine(class); line != "" {
			in.Ways = append(in.Ways, sheet.WayLine{Way: change.ClassWords[class], Means: g.ClassMeaning(class), Who: line})
		}
	}
	return in
}

// ScreensPage returns the data of the page of a squad's screens.
func ScreensPage(r *SquadScreen) sheet.ScreensInput {
	in := sheet.ScreensInput{Title: r.Title, List: r.List, Notes: r.Notes, Cautions: r.Cautions}
	for i := range r.Screens {
		in.Screens = append(in.Screens, sheet.AthleteScreen{Athlete: r.Screens[i].Athlete, Side: r.Screens[i].Side, Screen: r.Screens[i].Screen})
	}
	for _, w := range r.Without {
		in.Without = append(in.Without, Sided(w.Athlete, w.Side)+": "+w.Why)
	}
	return in
}

// TakesPage returns the data of the page of the takes to make.
func TakesPage(r *SquadScreen) sheet.TakesInput {
	in := sheet.TakesInput{Title: r.Title, List: r.List, Notes: slices.Concat(r.NotByTakesWords(), r.Notes), Cautions: r.Cautions}
	in.Day, _ = time.Parse(time.DateOnly, r.Today)
	for _, c := range r.ToTake {
		takes := sheet.TakesOf{Condition: c.Condition}
		for _, a := range c.Athletes {
			one := sheet.TakesOfAthlete{Athlete: a.Athlete}
			for _, s := range a.Sides {
				one.Sides = append(one.Sides, sheet.TakesOfSide(s))
			}
			takes.Athletes = append(takes.Athletes, one)
		}
		in.Conditions = append(in.Conditions, takes)
	}
	return in
}

// KeptPage returns the data of the page of a session of kept readings.
func KeptPage(r *session.Report) (sheet.SquadInput, error) {
	if r.Read == 0 {
		return sheet.SquadInput{}, fault.New("no reading of the session was kept", "keep one, then make the sheet")
	}
	return desk.SessionPage(r), nil
}
