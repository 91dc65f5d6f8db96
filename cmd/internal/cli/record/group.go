package record

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/pflag"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/record"
)

// Words of the change of a group.
const (
	groupFlagSquad    = "the change of a group: the athletes in the `LIST` of a squad"
	groupFlagAll      = "the change of a group: all athletes of the journal"
	groupFlagWorth    = "of a group, a change that is worth finding, `DEG`: who changed by less, either way, stands still (default 5)"
	groupFlagNameless = "of a group, letters in place of names"

	wordsWays  = "who went which way"
	wordsMonth = "the last month"
	wordsSure  = "sure"
)

// GroupOptions are the flags of the change of a group.
type GroupOptions struct {
	list       string
	all        bool
	worth      float64
	worthGiven bool
	nameless   bool
}

// AddFlags adds the flags that say how a group is judged and shown.
func (o *GroupOptions) AddFlags(f *pflag.FlagSet) {
	flags.FloatGiven(f, &o.worth, &o.worthGiven, "worth", groupFlagWorth)
	f.BoolVar(&o.nameless, "nameless", false, groupFlagNameless)
}

func (o *GroupOptions) asked() bool { return o.list != "" || o.all }

// unasked returns an error if a flag that holds only for a group was given for one athlete.
func (o *GroupOptions) unasked() error {
	for _, f := range []struct {
		name  string
		given bool
	}{{"worth", o.worthGiven}, {"nameless", o.nameless}} {
		if f.given {
			return fault.New("--"+f.name+" is of a group, and one athlete was named", "give --squad LIST or --all in place of the athlete")
		}
	}
	return nil
}

// Group computes the change of a group: of the athletes of a list, or of all if the list is "".
func (o *ChangeOptions) Group(ctx context.Context, d *record.Record, list string) (*record.Group, error) {
	squad, err := record.SquadOf(list)
	if err != nil {
		return nil, err
	}
	a := record.GroupAsk{Squad: squad, Filter: o.Filter, Goal: o.asked.goal(o.skill), Confidence: o.confidence, Nameless: o.group.nameless}
	if o.group.worthGiven {
		a.WorthDeg = &o.group.worth
	}
	return d.Group(ctx, a)
}

// AddGroupFlags adds the flags that say how a group is judged and shown.
func (o *ChangeOptions) AddGroupFlags(f *pflag.FlagSet) { o.group.AddFlags(f) }

func groupRun(ctx context.Context, s terminal.Streams, o ChangeOptions) error {
	switch {
	case o.group.all && o.group.list != "":
		return fault.New("--all and --squad both say who is in the group", "give one of them")
	case o.sessions != "":
		return fault.New("--session-figure is of one athlete, and a group was asked for", "name the athlete, or leave it out")
	case o.everyDay:
		return fault.New("--every-day is of one athlete, and a group was asked for", "name the athlete, or leave it out")
	}
	o.files.From(o.Journal, o.group.list)
	if err := flags.AddChart(&o.files, o.figure); err != nil {
		return err
	}
	g, err := o.Group(ctx, record.New(s.DeskAt(o.Journal, o.Rules, o.Now)), o.group.list)
	if err != nil {
		return err
	}
	return show(ctx, s, asShown{&o.files, o.figure, o.json}, g, func(g *record.Group) (*chart.Drawing, error) { return g.Chart(chart.Options{}) }, printGroup)
}

// printGroup prints the change of a group, narrow enough for a phone.
func printGroup(w io.Writer, g *record.Group) error {
	var p terminal.Printer
	who := "the group"
	if g.Title != "" {
		who = g.Title
	}
	p.Wrap("écart  ", terminal.TitleOf(g.Measure)+", "+who)
	p.Wrap("", g.KindWords())
	p.Line("")
	p.Wrap("  ", g.Sentence)
	p.Line("")
	printMembers(&p, g.Group)
	p.Line("")
	if g.Month != nil {
		p.Line(wordsMonth)
		p.Wrap("  ", g.Month.Words())
		p.Line("")
	}
	p.Line(wordsWays)
	for _, class := range change.Classes {
		if line := g.ClassLine(class); line != "" {
			p.Wrap("  ", fmt.Sprintf("%s (%s): %s", change.ClassWords[class], g.ClassMeaning(class), line))
		}
	}
	p.Line("")
	for _, n := range g.Notes {
		p.Wrap("noted:   ", n)
	}
	for _, s := range g.Cautions {
		p.Wrap("caution: ", s)
	}
	return p.Print(w)
}

// printMembers prints a row for each athlete, with the change on a ruler with a notch at
// no change, and for the mean.
func printMembers(p *terminal.Printer, g *change.Group) {
	type row struct {
		name, text string
		deg        float64
		interval   [2]float64
		sure       bool
	}
	var rows []row
	s := terminal.Scale{From: math.Inf(1), To: math.Inf(-1)}
	add := func(name string, deg, half float64, sure bool) {
		rows = append(rows, row{name, terminal.Plain(desk.SignedPlusMinus(deg, half)), deg, [2]float64{deg - half, deg + half}, sure})
		s.From, s.To = min(s.From, deg-half), max(s.To, deg+half)
	}
	for _, m := range g.Members {
		add(m.Athlete, m.ChangeDeg, m.SmallestDeg, m.RealAmongAll)
	}
	if g.Mean != nil {
		add("mean", g.Mean.MeanDeg, g.Mean.SmallestDeg, false)
	}
	s.From, s.To = min(s.From, 0), max(s.To, 0)
	const mostName = 12
	wide, name := 0, 0
	for i := range rows {
		if r := []rune(rows[i].name); len(r) > mostName {
			rows[i].name = string(r[:mostName-1]) + "…"
		}
		wide, name = max(wide, len([]rune(rows[i].text))), max(name, len([]rune(rows[i].name)))
	}
	s.Width = terminal.PrintWidth - name - wide - len("    ") - len(" "+wordsSure)
	s = s.WithMargin()
	zero := 0.0
	p.Line("%s%s", strings.Repeat(" ", name+wide+4), s.Labels(0, math.Ceil(s.From), math.Floor(s.To)))
	for _, r := range rows {
		bar := terminal.Padded(s.Bar(r.deg, r.interval, &zero), s.Width)
		if r.sure {
			bar += " " + wordsSure
		}
		p.Line("%s  %*s  %s", terminal.Padded(r.name, name), wide, r.text, strings.TrimRight(bar, " "))
	}
}
