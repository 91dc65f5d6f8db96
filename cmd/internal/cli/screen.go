package cli

import (
	"context"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/output"
)

// screenOptions are what 'ecart screen' was asked with, as typed.
type screenOptions struct {
	athlete    string
	movement   string
	day, side  string
	skill      string
	asked      askedOption
	rules      string
	confidence float64
	seed       uint64
	figure     string
	files      output.Set
	json       bool
	journal    string
	now        func() time.Time // the clock
}

func newScreen(s streams) *cobra.Command {
	o := screenOptions{now: time.Now}
	c := &cobra.Command{
		Use:     "screen ATHLETE --movement split|shoulder",
		Short:   screenShort,
		Long:    screenLong,
		Example: screenExample,
		Args:    oneArg("athlete"),
		RunE: func(c *cobra.Command, args []string) error {
			o.athlete = args[0]
			o.asked.given = c.Flags().Changed("asked")
			return screenRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.addFlags(f)
	f.StringVar(&o.figure, "figure", "", screenFlagFigure)
	addForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, screenFlagJSON)
	addJournal(f, &o.journal)
	addRulesDir(f, &o.rules)
	return c
}

// addFlags adds the flags by which readings are chosen and compared.
func (o *screenOptions) addFlags(f *pflag.FlagSet) {
	f.StringVar(&o.movement, "movement", "", screenFlagMovement)
	f.StringVar(&o.day, "day", "", screenFlagDay)
	f.StringVar(&o.side, "side", "", changeFlagSide)
	f.StringVar(&o.skill, "skill", "", changeFlagSkill)
	addAsked(f, &o.asked)
	f.Float64Var(&o.confidence, "confidence", 0.95, screenFlagConfidence)
	f.Uint64Var(&o.seed, "seed", 1, screenFlagSeed)
}

func screenRun(ctx context.Context, s streams, o screenOptions) error {
	o.files.From(o.journal)
	if err := addChart(&o.files, o.figure); err != nil {
		return err
	}
	r, err := s.deskAt(o.journal, o.rules, o.now).Screen(ctx, o.ask())
	if err != nil {
		return err
	}
	if o.figure != "" {
		if err := drawScreen(ctx, &o.files, o.figure, r); err != nil {
			return err
		}
	}
	if o.json {
		return printJSON(s.out, r)
	}
	return printScreen(s.out, r)
}

func (o *screenOptions) ask() desk.ScreenAsk {
	return desk.ScreenAsk{Athlete: o.athlete, Movement: o.movement, Day: o.day, Side: o.side, Goal: o.asked.goal(o.skill), Confidence: o.confidence, Seed: o.seed}
}

// drawScreen draws the screen of one side.
func drawScreen(ctx context.Context, files *output.Set, path string, r *desk.Screen) error {
	if len(r.Screens) > 1 {
		return twoToDraw(r)
	}
	d, err := chart.Screen(chart.ScreenData{Who: r.Athlete, Screen: r.Screens[0].Screen}, chart.Options{})
	if err != nil {
		return err
	}
	return writeChart(ctx, files, path, d)
}
