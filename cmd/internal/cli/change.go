package cli

import (
	"context"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"
)

// changeOptions are what 'ecart change' was asked with, as typed.
type changeOptions struct {
	filter     journal.Filter
	skill      string
	asked      askedOption
	rules      string
	confidence float64
	figure     string
	sessions   string // the figure of before and after
	files      output.Set
	all        bool
	json       bool
	journal    string
	now        func() time.Time // the clock
}

func newChange(s streams) *cobra.Command {
	o := changeOptions{now: time.Now}
	c := &cobra.Command{
		Use:     "change ATHLETE --measure NAME",
		Short:   changeShort,
		Long:    changeLong,
		Example: changeExample,
		Args:    oneArg("athlete"),
		RunE: func(c *cobra.Command, args []string) error {
			o.filter.Athlete = args[0]
			o.asked.given = c.Flags().Changed("asked")
			return changeRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.addFlags(f)
	f.StringVar(&o.figure, "figure", "", changeFlagFigure)
	f.StringVar(&o.sessions, "session-figure", "", changeFlagSessions)
	f.BoolVar(&o.all, "all", false, changeFlagAll)
	addForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, changeFlagJSON)
	addJournal(f, &o.journal)
	addRulesDir(f, &o.rules)
	return c
}

// addFlags adds the flags by which readings are chosen and compared.
func (o *changeOptions) addFlags(f *pflag.FlagSet) {
	f.StringVar(&o.filter.Measure, "measure", "", changeFlagMeasure)
	f.StringVar(&o.skill, "skill", "", changeFlagSkill)
	addAsked(f, &o.asked)
	f.StringVar(&o.filter.Side, "side", "", changeFlagSide)
	f.StringVar(&o.filter.State, "state", "", changeFlagState)
	f.StringVar(&o.filter.Condition, "condition", "", changeFlagCondition)
	f.StringVar(&o.filter.From, "from", "", changeFlagFrom)
	f.StringVar(&o.filter.To, "to", "", changeFlagTo)
	f.Float64Var(&o.confidence, "confidence", 0.95, changeFlagConfidence)
}

func changeRun(ctx context.Context, s streams, o changeOptions) error {
	o.files.From(o.journal)
	for _, path := range []string{o.figure, o.sessions} {
		if err := addChart(&o.files, path); err != nil {
			return err
		}
	}
	r, err := s.deskAt(o.journal, o.rules, o.now).Change(ctx, o.ask())
	if err != nil {
		return err
	}
	if err := drawChange(ctx, o, r); err != nil {
		return err
	}
	if o.json {
		return printJSON(s.out, r)
	}
	return printChange(s.out, r, o.all)
}

func (o *changeOptions) ask() desk.ChangeAsk {
	return desk.ChangeAsk{Filter: o.filter, Goal: o.asked.goal(o.skill), Confidence: o.confidence}
}

// askedOption is what readings are held against, in degrees, as typed.
type askedOption struct {
	typed float64
	given bool
}

func addAsked(f *pflag.FlagSet, a *askedOption) {
	f.Float64Var(&a.typed, "asked", 0, changeFlagAsked)
}

func (a *askedOption) goal(skill string) desk.Goal {
	g := desk.Goal{Skill: skill}
	if a.given {
		g.Deg = &a.typed
	}
	return g
}
