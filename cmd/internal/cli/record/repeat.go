package record

import (
	"context"
	"time"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/output"
	"ecart/geometry"
)

// repeatOptions are the flags of 'ecart repeat'.
type repeatOptions struct {
	files   []string // a list, or a take and marks files
	rater   string
	measure string
	options geometry.Options
	keep    bool
	figure  string
	outputs output.Set
	json    bool
	journal string
	now     func() time.Time // the clock
}

func NewRepeat(s terminal.Streams) *cobra.Command {
	o := repeatOptions{now: time.Now}
	c := &cobra.Command{
		Use:     "repeat (LIST.csv | TAKE MARKS...)",
		Short:   repeatShort,
		Long:    repeatLong,
		Example: repeatExample,
		Args:    repeatArgs,
		RunE: func(c *cobra.Command, args []string) error {
			o.files = args
			return repeatRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.measure, "measure", "", repeatFlagMeasure)
	f.StringVar((*string)(&o.options.Leg), "leg", "", repeatFlagLeg)
	f.StringVar((*string)(&o.options.Side), "side", "", repeatFlagSide)
	f.StringVar((*string)(&o.options.Facing), "facing", "", repeatFlagFacing)
	f.StringVar(&o.rater, "rater", "", repeatFlagRater)
	f.BoolVar(&o.keep, "keep", false, repeatFlagKeep)
	f.StringVar(&o.figure, "figure", "", repeatFlagFigure)
	flags.AddForce(f, &o.outputs)
	f.BoolVar(&o.json, "json", false, repeatFlagJSON)
	flags.AddJournal(f, &o.journal)
	return c
}

func repeatArgs(c *cobra.Command, args []string) error {
	switch {
	case len(args) == 0:
		return flags.Usage(c, "'ecart repeat' was given neither a list nor a take with marks")
	case desk.IsList(args[0]) && len(args) > 1:
		return listAndMore(args)
	case !desk.IsList(args[0]) && len(args) == 1:
		return noMarkings(args[0])
	}
	return nil
}

func repeatRun(ctx context.Context, s terminal.Streams, o repeatOptions) error {
	measure, err := o.check()
	if err != nil {
		return err
	}
	d := s.DeskAt(o.journal, "", o.now)
	r, err := d.Repeat(ctx, desk.RepeatAsk{Files: o.files, Rater: o.rater, Measure: measure, Options: o.options})
	if err != nil {
		return err
	}
	draw := func() error {
		if o.figure == "" {
			return nil
		}
		return drawRepeat(ctx, &o.outputs, o.figure, r)
	}
	if o.keep {
		err = d.KeepRaters(ctx, r, draw)
	} else {
		err = draw()
	}
	if err != nil {
		return err
	}
	if o.json {
		return terminal.PrintJSON(s.Out, r)
	}
	return printRepeat(s.Out, r, o.keep)
}

// check checks the flags before any file is read; the result is nil without a measure.
func (o *repeatOptions) check() (*geometry.Measure, error) {
	a := desk.Ask{Leg: string(o.options.Leg), Side: string(o.options.Side), Facing: string(o.options.Facing), Confidence: 0.95}
	if err := a.Check(); err != nil {
		return nil, err
	}
	if o.keep && o.rater == "" && !desk.IsList(o.files[0]) {
		return nil, nobodyToKeep()
	}
	o.outputs.From(append([]string{o.journal}, o.files...)...)
	if err := flags.AddChart(&o.outputs, o.figure); err != nil {
		return nil, err
	}
	if o.measure == "" {
		if o.figure != "" {
			return nil, figureOfNothing()
		}
		return nil, nil
	}
	m, err := desk.FindMeasure(o.measure)
	if err != nil {
		return nil, err
	}
	return &m, nil
}

// drawRepeat draws the first agreement.
func drawRepeat(ctx context.Context, files *output.Set, path string, r *desk.Repeat) error {
	if len(r.Agreements) == 0 {
		return nothingToDraw()
	}
	a := r.Agreements[0]
	d, err := chart.Agreement(chart.AgreementData{Title: terminal.TitleOf(r.Measure), First: a.First, Second: a.Second, Agreement: a.Agreement}, chart.Options{})
	if err != nil {
		return err
	}
	return flags.WriteChart(ctx, files, path, d)
}
