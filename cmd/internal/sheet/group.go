package sheet

import (
	"html/template"
	"io"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/fault"
)

// GroupInput is how a measure of several athletes changed, for a head coach.
type GroupInput struct {
	Title    string // of the group, may be empty
	Group    *change.Group
	Ways     []WayLine
	Cautions []string
}

// WayLine is one way, such as "goes on", with what it means and the athletes' names.
type WayLine struct{ Way, Means, Who string }

type groupPage struct {
	W     *groupWords
	Says  []string
	Chart template.HTML
	Ways  []WayLine
	Notes []string
	Cares []string
}

// WriteGroup writes the page of a group: the mean change, each athlete's change, and the athletes of each
// way.
func WriteGroup(w io.Writer, in GroupInput, opt Options) error {
	s, who, err := coachSetting(opt)
	if err != nil {
		return err
	}
	if who != Coach {
		return problem("make it for coach; "+fault.Operation("print the months")+" has one athlete's page", "there is no page of a group for %q", string(who))
	}
	if in.Group == nil || len(in.Group.Members) == 0 {
		return problem("keep readings on two days of each", "there is no change of a group to put on a page")
	}
	t := &s.kind().group
	p := groupPage{W: t, Says: []string{s.sentence(in.Group.Sentence)}, Ways: in.Ways}
	if in.Group.Month != nil {
		p.Says = append(p.Says, s.sentence(in.Group.Month.Words()))
	}
	for i := range p.Ways {
		p.Ways[i].Means = s.text(p.Ways[i].Means)
	}
	for _, n := range in.Group.Notes {
		p.Notes = append(p.Notes, s.sentence(n))
	}
	for _, c := range in.Cautions {
		p.Cares = append(p.Cares, s.sentence(c))
	}
	d, err := chart.Group(chart.GroupData{Title: in.Title, Group: in.Group}, s.chartOptions(s.widthMM()))
	if p.Chart, err = s.chartSVG(d, err); err != nil {
		return err
	}
	first, last := in.Group.Span()
	return s.writePage(w, "group", lookup(s.measure, in.Group.Measure), t.title, []string{in.Title, in.Group.Condition, lookup(s.state, in.Group.State), s.between(first, last)}, p)
}
