package record

import (
	"context"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/record"
)

// ScreenOptions are the flags of 'ecart screen'.
type ScreenOptions struct {
	Athlete    string
	movement   string
	contrast   string // its name; "": a screen
	day, side  string
	skill      string
	asked      askedOption
	Rules      string
	squad      string // a list, whose athletes are screened; "": one athlete
	all        bool   // all athletes of the journal are screened
	toTake     bool
	confidence float64
	seed       uint64
	figure     string
	files      output.Set
	json, list bool
	Journal    string
	Now        func() time.Time // the clock
}

func NewScreen(s terminal.Streams) *cobra.Command {
	o := ScreenOptions{Now: time.Now}
	c := &cobra.Command{
		Use:     "screen ATHLETE|--squad LIST|--all --movement MOVEMENT | --contrast CONTRAST",
		Short:   screenShort,
		Long:    screenLong,
		Example: screenExample,
		Args:    screenArgs(&o),
		RunE: func(c *cobra.Command, args []string) error {
			if o.list {
				return screenListRun(s, o.json)
			}
			if o.squad != "" || o.all {
				return squadScreenRun(c.Context(), s, &o)
			}
			o.Athlete = args[0]
			if o.toTake {
				return toTakeOfOne()
			}
			if o.contrast != "" {
				return contrastRun(c.Context(), s, &o)
			}
			return screenRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.AddFlags(f)
	f.StringVar(&o.squad, "squad", "", screenFlagSquad)
	f.BoolVar(&o.all, "all", false, screenFlagAll)
	f.BoolVar(&o.toTake, "to-take", false, screenFlagToTake)
	f.StringVar(&o.contrast, "contrast", "", screenFlagContrast)
	f.StringVar(&o.figure, "figure", "", screenFlagFigure)
	f.BoolVar(&o.list, "list", false, screenFlagList)
	flags.AddForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, screenFlagJSON)
	flags.AddJournal(f, &o.Journal)
	flags.AddRulesDir(f, &o.Rules)
	return c
}

// AddFlags adds the flags by which readings are chosen and compared.
func (o *ScreenOptions) AddFlags(f *pflag.FlagSet) {
	f.StringVar(&o.movement, "movement", "", screenFlagMovement)
	f.StringVar(&o.day, "day", "", screenFlagDay)
	f.StringVar(&o.side, "side", "", changeFlagSide)
	f.StringVar(&o.skill, "skill", "", changeFlagSkill)
	addAsked(f, &o.asked)
	f.Float64Var(&o.confidence, "confidence", 0.95, screenFlagConfidence)
	f.Uint64Var(&o.seed, "seed", 1, screenFlagSeed)
}

func screenListRun(s terminal.Streams, json bool) error {
	l := record.Screens()
	if json {
		return terminal.PrintJSON(s.Out, l)
	}
	return printScreenList(s.Out, l)
}

func screenRun(ctx context.Context, s terminal.Streams, o ScreenOptions) error {
	o.files.From(o.Journal)
	if err := flags.AddChart(&o.files, o.figure); err != nil {
		return err
	}
	r, err := record.Of(s.DeskAt(o.Journal, o.Rules, o.Now)).Screen(ctx, o.Ask())
	if err != nil {
		return err
	}
	return show(ctx, s, asShown{&o.files, o.figure, o.json}, r, drawnScreen, printScreen)
}

func (o *ScreenOptions) Ask() record.ScreenAsk {
	return record.ScreenAsk{Athlete: o.Athlete, Movement: o.movement, Day: o.day, Side: o.side, Goal: o.asked.goal(o.skill), Confidence: o.confidence, Seed: o.seed}
}

// drawnScreen draws the screen of one side.
func drawnScreen(r *record.Screen) (*chart.Drawing, error) {
	if len(r.Screens) > 1 {
		return nil, twoToDraw(r)
	}
	return chart.Screen(chart.ScreenData{Who: r.Athlete, Screen: r.Screens[0].Screen}, chart.Options{})
}
