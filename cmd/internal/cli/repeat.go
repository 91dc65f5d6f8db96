package cli

import (
	"context"
	"time"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"
	"ecart/geometry"
)

// repeatSchema names the version of the JSON of 'ecart repeat'.
const repeatSchema = "ecart/repeat/1"

// repeatOptions are what 'ecart repeat' was asked with, as typed.
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

// repeated is what 'ecart repeat' found, and its JSON. Pixels are those of pictures
// whose longer side is LongSidePx.
type repeated struct {
	Schema        string                `json:"schema"`
	Measure       string                `json:"measure,omitempty"`
	Frames        int                   `json:"frames"`
	Markings      int                   `json:"markings"`
	LongSidePx    int                   `json:"long_side_px"`
	Raters        []raterFigure         `json:"raters"`
	Placement     *change.Placement     `json:"placement,omitempty"`     // nil: nobody marked a frame twice
	Repeatability *change.Repeatability `json:"repeatability,omitempty"` // nil: no measure was named
	Agreements    []agreement           `json:"agreements"`
	Kept          []string              `json:"kept"` // raters whose figure was put into the journal
	Notes         []string              `json:"notes"`
}

// raterFigure is how well somebody marks: a point, and the angle; nil where that
// rater marked no frame twice.
type raterFigure struct {
	Name        string         `json:"name"`
	PlacementPx *change.Spread `json:"placement_px,omitempty"` // of one point, each axis
	Angle       *change.Error  `json:"angle,omitempty"`
}

// agreement is how two raters agree, or one with their own marks of before.
type agreement struct {
	First  string `json:"first"`
	Second string `json:"second"`
	*change.Agreement
}

func newRepeat(s streams) *cobra.Command {
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
	addForce(f, &o.outputs)
	f.BoolVar(&o.json, "json", false, repeatFlagJSON)
	addJournal(f, &o.journal)
	return c
}

func repeatArgs(c *cobra.Command, args []string) error {
	switch {
	case len(args) == 0:
		return usage(c, "'ecart repeat' was given neither a list nor a take with marks")
	case isList(args[0]) && len(args) > 1:
		return listAndMore(args)
	case !isList(args[0]) && len(args) == 1:
		return noMarkings(args[0])
	}
	return nil
}

func repeatRun(ctx context.Context, s streams, o repeatOptions) error {
	measure, err := o.check()
	if err != nil {
		return err
	}
	done := s.working(repeatWorking)
	ms, err := o.markings(ctx)
	done()
	if err != nil {
		return err
	}
	r, err := repeatOf(ms, measure, o.options)
	if err != nil {
		return desk.Optioned(err)
	}
	if err := drawAndKeep(ctx, r, o); err != nil {
		return err
	}
	if o.json {
		return printJSON(s.out, r)
	}
	return printRepeat(s.out, r, o.keep)
}

// check looks through what is known without any file; no measure is nil.
func (o *repeatOptions) check() (*geometry.Measure, error) {
	a := desk.Ask{Leg: string(o.options.Leg), Side: string(o.options.Side), Facing: string(o.options.Facing), Confidence: 0.95}
	if err := a.Check(); err != nil {
		return nil, err
	}
	if o.keep && o.rater == "" && !isList(o.files[0]) {
		return nil, nobodyToKeep()
	}
	o.outputs.From(append([]string{o.journal}, o.files...)...)
	if err := addChart(&o.outputs, o.figure); err != nil {
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

// drawAndKeep draws the figure and puts the raters' figures into the journal, each
// if it was asked for. Whether the journal can be opened is known before the drawing.
func drawAndKeep(ctx context.Context, r *repeated, o repeatOptions) error {
	var keep []journal.Rater
	var j *journal.Journal
	if o.keep {
		var err error
		if keep, err = toKeep(r, o.now().Format(time.DateOnly)); err != nil {
			return err
		}
		if j, err = openJournal(o.journal, journal.Options{Create: true, Now: o.now}); err != nil {
			return err
		}
		defer j.Close()
	}
	if o.figure != "" {
		if err := drawRepeat(ctx, &o.outputs, o.figure, r); err != nil {
			return err
		}
	}
	for _, k := range keep {
		if err := j.KeepRater(ctx, k); err != nil {
			return err
		}
		r.Kept = append(r.Kept, k.Name)
	}
	return nil
}

// drawRepeat draws the first agreement.
func drawRepeat(ctx context.Context, files *output.Set, path string, r *repeated) error {
	if len(r.Agreements) == 0 {
		return nothingToDraw()
	}
	a := r.Agreements[0]
	d, err := chart.Agreement(chart.AgreementData{Title: titleOf(r.Measure), First: a.First, Second: a.Second, Agreement: a.Agreement}, chart.Options{})
	if err != nil {
		return err
	}
	return writeChart(ctx, files, path, d)
}
