package record

import (
	"context"
	"fmt"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/session"
)

// GroupSchema names the version of the JSON of a Group.
const GroupSchema = "ecart/group/1"

// GroupAsk is the input of [Record.Group].
type GroupAsk struct {
	Squad      Squad
	Filter     journal.Filter // names no athlete
	Goal       Goal
	Confidence float64  // what intervals hold and a real change takes, 0.5 to 1
	WorthDeg   *float64 // a change within it, either way, is standing still; nil: change.WorthDeg
	Nameless   bool     // letters in place of names
}

// Group is how a measure of several athletes changed, and its JSON.
type Group struct {
	Schema string `json:"schema"`
	Title  string `json:"title"` // the list's name, "" for all
	Today  string `json:"today"`
	*change.Group
	Cautions []string `json:"cautions"`
}

// Group computes the mean change of the athletes of a list, or of all in the journal.
func (d *Record) Group(ctx context.Context, a GroupAsk) (*Group, error) {
	if err := desk.CheckFilter(a.Filter); err != nil {
		return nil, err
	}
	if err := CheckConfidence(a.Confidence); err != nil {
		return nil, err
	}
	opt := change.GroupOptions{Nameless: a.Nameless}
	if a.WorthDeg != nil {
		if !(*a.WorthDeg > 0 && *a.WorthDeg <= 180) {
			return nil, fault.New(fmt.Sprintf(fault.Option("worth")+" %g is no change from above 0 to 180 degrees", *a.WorthDeg), "5 is usual")
		}
		opt.WorthDeg = *a.WorthDeg
	}
	var err error
	if opt.AskedDeg, opt.AtMost, err = d.goal(a.Goal, &a.Filter.Measure); err != nil {
		return nil, err
	}
	opt.Coverage = a.Confidence
	j, err := d.OpenJournal(journal.Options{Read: true})
	if err != nil {
		return nil, err
	}
	defer j.Close()
	a.Filter.Moments = true
	rows, damaged, err := splitDamaged(j.List(ctx, a.Filter))
	if err != nil {
		return nil, err
	}
	out, err := groupOf(rows, a.Squad.Names, opt, d.Now())
	if err != nil {
		return nil, err
	}
	out.Title = a.Squad.Name
	if len(damaged) > 0 {
		out.Notes = append(out.Notes, desk.Count(len(damaged), "reading")+" of the journal damaged, and left out")
	}
	return out, nil
}

// GroupOf is Group for a measure, with defaults for the rest.
func (d *Record) GroupOf(ctx context.Context, squad Squad, measure string, nameless bool) (*Group, error) {
	return d.Group(ctx, GroupAsk{Squad: squad, Filter: journal.Filter{Measure: measure}, Confidence: usualConfidence, Nameless: nameless})
}

// groupOf computes the group's change from the rows of the athletes named, nil for all.
func groupOf(rows []journal.Row, names []string, opt change.GroupOptions, now time.Time) (*Group, error) {
	today := now.Format(time.DateOnly)
	var absent []string
	if names != nil {
		var named []journal.Row
		for _, name := range names {
			n := len(named)
			for _, r := range rows {
				if session.Key(r.Athlete) == session.Key(name) {
					named = append(named, r)
				}
			}
			if len(named) == n {
				absent = append(absent, name)
			}
		}
		rows = named
	}
	if len(rows) == 0 {
		return nil, fault.New("the journal has no such reading of these athletes", fault.Operation("list the readings")+" shows what is in it")
	}
	var notes []string
	rows, err := notAhead(rows, today, &notes)
	if err != nil {
		return nil, err
	}
	if measures := distinct(rows, func(r *journal.Row) string { return r.Measure }); len(measures) > 1 {
		return nil, fault.New(fmt.Sprintf("the group has readings of %d measures, %s", len(measures), strings.Join(measures, ", ")), "name one with "+fault.Option("measure"))
	}
	rs, err := changeRows(rows)
	if err != nil {
		return nil, err
	}
	g, err := change.NewGroup(rs, opt)
	if err != nil {
		return nil, err
	}
	if len(absent) > 0 {
		if opt.Nameless {
			notes = append(notes, desk.Count(len(absent), "athlete")+" of the list without such a reading")
		} else {
			notes = append(notes, "without such a reading: "+strings.Join(absent, ", "))
		}
	}
	g.Notes = append(g.Notes, notes...)
	return &Group{Schema: GroupSchema, Today: today, Group: g, Cautions: []string{cautionMeasures, cautionPain}}, nil
}

// NamesInClass returns the athletes of one class: those whose change is real after the correction for their
// number, and the others.
func (g *Group) NamesInClass(class change.Class) (sure, alone []string) {
	for _, m := range g.InClass(class) {
		if m.RealAmongAll {
			sure = append(sure, m.Athlete)
		} else {
			alone = append(alone, m.Athlete)
		}
	}
	return sure, alone
}

// ClassLine names the athletes of one class: "Wren, Lio; taken alone, not sure among 3: Iris"; "" if there are
// none.
func (g *Group) ClassLine(class change.Class) string {
	sure, alone := g.NamesInClass(class)
	var parts []string
	if len(sure) > 0 {
		parts = append(parts, strings.Join(sure, ", "))
	}
	if len(alone) > 0 {
		names := strings.Join(alone, ", ")
		if class == change.GoesOn || class == change.FallsBack {
			names = "taken alone, not sure among " + fmt.Sprint(len(g.Members)) + ": " + names
		}
		parts = append(parts, names)
	}
	if parts == nil {
		return ""
	}
	return strings.Join(parts, "; ")
}

// Chart draws the group.
func (g *Group) Chart(opt chart.Options) (*chart.Drawing, error) {
	return chart.Group(chart.GroupData{Title: g.Title, Group: g.Group}, opt)
}

// Draw returns the group as SVG, widthMM wide, without heading.
func (g *Group) Draw(widthMM float64) (string, error) {
	d, err := g.Chart(chart.Options{WidthMM: widthMM, Bare: true})
	if err != nil {
		return "", err
	}
	return svgOf(d)
}

// KindWords says which readings the group consists of.
func (g *Group) KindWords() string {
	n := 0
	for _, m := range g.Members {
		n += m.Readings
	}
	first, last := g.Span()
	words := []string{}
	for _, w := range []string{g.Condition, g.State} {
		if w != "" {
			words = append(words, w)
		}
	}
	words = append(words, desk.Count(n, "reading")+" of "+desk.Count(len(g.Members), "athlete"), desk.DateWords(first)+" to "+desk.DateWords(last))
	return strings.Join(words, ", ")
}
