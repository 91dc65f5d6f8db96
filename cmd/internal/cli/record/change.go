package record

import (
	"context"
	"fmt"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/record"
)

// ChangeOptions are the flags of 'ecart change'.
type ChangeOptions struct {
	Filter     journal.Filter
	skill      string
	asked      askedOption
	Rules      string
	confidence float64
	figure     string
	sessions   string // the figure of before and after
	files      output.Set
	everyDay   bool
	group      GroupOptions
	json       bool
	Journal    string
	Now        func() time.Time // the clock
}

func NewChange(s terminal.Streams) *cobra.Command {
	o := ChangeOptions{Now: time.Now}
	c := &cobra.Command{
		Use:     "change ATHLETE|--squad LIST|--all --measure NAME",
		Short:   changeShort,
		Long:    changeLong,
		Example: changeExample,
		Args: func(c *cobra.Command, args []string) error {
			if o.group.asked() && len(args) == 0 {
				return nil
			}
			if o.group.asked() {
				return flags.Usage(c, fmt.Sprintf("'%s' was given the athlete %q and a group", c.CommandPath(), args[0]))
			}
			return flags.OneArg("athlete")(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error {
			if o.group.asked() {
				return groupRun(c.Context(), s, o)
			}
			if err := o.group.unasked(); err != nil {
				return err
			}
			o.Filter.Athlete = args[0]
			return changeRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.AddFlags(f)
	f.StringVar(&o.figure, "figure", "", changeFlagFigure)
	f.StringVar(&o.sessions, "session-figure", "", changeFlagSessions)
	f.BoolVar(&o.everyDay, "every-day", false, changeFlagEveryDay)
	f.StringVar(&o.group.list, "squad", "", groupFlagSquad)
	f.BoolVar(&o.group.all, "all", false, groupFlagAll)
	o.group.AddFlags(f)
	flags.AddForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, changeFlagJSON)
	flags.AddJournal(f, &o.Journal)
	flags.AddRulesDir(f, &o.Rules)
	return c
}

// AddFlags adds the flags by which readings are chosen and compared.
func (o *ChangeOptions) AddFlags(f *pflag.FlagSet) {
	f.StringVar(&o.Filter.Measure, "measure", "", changeFlagMeasure)
	f.StringVar(&o.skill, "skill", "", changeFlagSkill)
	addAsked(f, &o.asked)
	f.StringVar(&o.Filter.Side, "side", "", changeFlagSide)
	f.StringVar(&o.Filter.State, "state", "", changeFlagState)
	f.StringVar(&o.Filter.Condition, "condition", "", changeFlagCondition)
	f.StringVar(&o.Filter.Variant, "variant", "", changeFlagVariant)
	f.StringVar(&o.Filter.From, "from", "", changeFlagFrom)
	f.StringVar(&o.Filter.To, "to", "", changeFlagTo)
	f.Float64Var(&o.confidence, "confidence", 0.95, changeFlagConfidence)
}

func changeRun(ctx context.Context, s terminal.Streams, o ChangeOptions) error {
	o.files.From(o.Journal)
	for _, path := range []string{o.figure, o.sessions} {
		if err := flags.AddChart(&o.files, path); err != nil {
			return err
		}
	}
	r, err := record.Of(s.DeskAt(o.Journal, o.Rules, o.Now)).Change(ctx, o.Ask())
	if err != nil {
		return err
	}
	if err := drawChange(ctx, o, r); err != nil {
		return err
	}
	if o.json {
		return terminal.PrintJSON(s.Out, r)
	}
	return printChange(s.Out, r, o.everyDay)
}

func (o *ChangeOptions) Ask() record.ChangeAsk {
	return record.ChangeAsk{Filter: o.Filter, Goal: o.asked.goal(o.skill), Confidence: o.confidence}
}

// askedOption is the value of --asked, degrees.
type askedOption struct {
	typed float64
	given bool
}

func addAsked(f *pflag.FlagSet, a *askedOption) {
	flags.FloatGiven(f, &a.typed, &a.given, "asked", changeFlagAsked)
}

func (a *askedOption) goal(skill string) record.Goal {
	g := record.Goal{Skill: skill}
	if a.given {
		g.Deg = &a.typed
	}
	return g
}

// drawChange draws the figures asked for: the months, and before and after.
func drawChange(ctx context.Context, o ChangeOptions, c *record.Change) error {
	if o.sessions != "" && len(c.Sessions) == 0 {
		return noSessions(c.Athlete)
	}
	t := c.Trends[0]
	for _, f := range []struct {
		path string
		draw func() (*chart.Drawing, error)
	}{
		{o.figure, func() (*chart.Drawing, error) {
			return c.Chart(chart.Options{})
		}},
		{o.sessions, func() (*chart.Drawing, error) {
			return chart.Steps(chart.StepsData{Who: c.Athlete, Measure: c.Measure, Steps: c.Sessions, AskedDeg: t.AskedDeg, AtMost: t.AtMost}, chart.Options{})
		}},
	} {
		if f.path == "" {
			continue
		}
		d, err := f.draw()
		if err != nil {
			return err
		}
		if err := flags.WriteChart(ctx, &o.files, f.path, d); err != nil {
			return err
		}
	}
	return nil
}
