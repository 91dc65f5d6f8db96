package record

import (
	"context"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/geometry"
	"ecart/geometry/uncertainty"

	"github.com/spf13/cobra"
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

// Words of 'ecart repeat'.

const (
	repeatShort = "how well a rater repeats: the same frames marked again"
	repeatLong  = `Says how well points are placed, from frames that were marked again by the same
rater or by another: in pixels and, with a measure, in degrees: the standard
error of measurement, the smallest change that is real between two readings, and
how two raters, or two rounds of one, agree (Bland-Altman).

A take with its marks files, all by one rater, or a list. The list is a CSV file
with a line for each time that a frame was marked:

  take,frame,rater,marks
  leap.mp4,43,Iris,iris/leap-1.json
  leap.mp4,43,Iris,iris/leap-2.json
  leap.mp4,43,Noor,noor/leap.json

Commas, semicolons or tabs part the columns. "frame" may be left out: the marks
files say it. Paths are from the list's folder. A marks file in which each
landmark was placed n times counts as n markings.

Mark a frame again on another day, without seeing the marks of before. A dozen
frames of several athletes, twice each, say more than one frame a dozen times.
With --keep the rater's figure goes into the journal, and 'ecart read --rater
NAME' uses it from then on.`
	repeatExample = `  ecart repeat leap.mp4 first.json again.json third.json \
      --measure hip-split --rater Iris --keep
  ecart repeat raters.csv --measure hip-split --figure raters.svg`

	repeatFlagMeasure = "the measure `NAME`, to have the angle too; else pixels only"
	repeatFlagLeg     = "what stands for the leg: `PART` is whole (to the ankle, as is usual) or thigh (to the knee)"
	repeatFlagSide    = "whose marks count where several sides are marked: `SIDE` is left, right, front or back"
	repeatFlagFacing  = "the way the chest faces, the same `WAY` in all pictures; else that of the marks files"
	repeatFlagRater   = "who marked: `NAME`; of a list, only that rater's lines count"
	repeatFlagKeep    = "put the rater's figure into the journal, a list's raters' each"
	repeatFlagFigure  = "draw how two raters, or two rounds of one, agree into `FILE`, which ends in .png or .svg"
	repeatFlagJSON    = "print it as JSON (" + desk.RepeatSchema + "), in full precision"
)

const (
	wordsPlacing    = "placing a point (one sd, each axis)"
	wordsPixels     = "%s px (%s to %s)"
	wordsOverRaters = "all"
	wordsApart      = "between raters"
	wordsAngles     = "the angle, from marking alone"
	wordsAgain      = "%s again"
	wordsSameRater  = "same rater"
	wordsAnyRater   = "any rater"
	wordsSEM        = "standard error %s° (%s to %s)"
	wordsSmallest   = "a change under %s° (%s to %s) could not be told from none"
	wordsICC        = "intraclass correlation of one reading: %.3f"
	wordsAgree      = "%s against %s, %s: mean difference %s; 95 of 100 differences between %s° and %s°"
	wordsKept       = "kept in the journal: %s; 'ecart read --rater NAME' uses it"
	wordsKeep       = "--keep puts the figure into the journal, for 'ecart read --rater NAME'"
)

func repeatKind(r *desk.Repeat) string {
	return fmt.Sprintf("%s, %s, %s; pictures of %s", desk.Count(r.Frames, "frame"), desk.Count(len(r.Raters), "rater"), desk.Count(r.Markings, "marking"), terminal.Held(fmt.Sprint(r.LongSidePx, " px")))
}

// spreadWords returns a standard deviation with its interval, rounded like an uncertainty.
func spreadWords(format string, v float64, interval [2]float64) string {
	_, a := uncertainty.Format(0, v)
	lo, _ := uncertainty.Format(interval[0], v)
	hi, _ := uncertainty.Format(interval[1], v)
	return fmt.Sprintf(format, a, lo, hi)
}

func agreeWords(a *desk.MarkedTwice) string {
	u := terminal.Half(a.MeanInterval)
	lo, _ := uncertainty.Format(a.LimitsDeg[0], u)
	hi, _ := uncertainty.Format(a.LimitsDeg[1], u)
	return fmt.Sprintf(wordsAgree, a.First, a.Second, desk.Count(len(a.Differences), "frame"), desk.SignedPlusMinus(a.MeanDeg, u), lo, hi)
}

func noMarkings(take string) error {
	return fault.New(fmt.Sprintf("no marks files were given for %q", take), "name those of one rater behind the take, or give a list that ends in .csv; 'ecart repeat --help' shows its form")
}

func listAndMore(args []string) error {
	return fault.New(fmt.Sprintf("the list %q names all its files, and %q was given too", args[0], args[1]), "leave one of them out")
}

func nobodyToKeep() error {
	return fault.New("--keep was given without a rater", "say who marked: --rater NAME")
}

func figureOfNothing() error {
	return fault.New("--figure draws angles, and no measure was named", "give --measure NAME")
}

func nothingToDraw() error {
	return fault.New("there are not three frames that two raters marked, or one rater twice: nothing can be drawn", "mark more frames, or leave --figure out")
}

// errorWords returns a standard error of measurement and the smallest real change.
func errorWords(e *change.Error) [2]string {
	return [2]string{spreadWords(wordsSEM, e.SEM.SD, e.SEM.Interval), spreadWords(wordsSmallest, e.SmallestRealDeg, e.SmallestInterval)}
}

// printRepeat prints how repeatable marks are, narrow enough for a phone.
func printRepeat(w io.Writer, r *desk.Repeat, kept bool) error {
	var p terminal.Printer
	title := ""
	if r.Measure != "" {
		title = terminal.TitleOf(r.Measure) + ", "
	}
	p.Wrap("écart  ", title+"marked again")
	p.Wrap("", repeatKind(r))
	p.Line("")
	if r.Placement != nil {
		printPlacing(&p, r)
		p.Line("")
	}
	if r.Repeatability != nil {
		printAngles(&p, r)
		p.Line("")
	}
	for i := range r.Agreements {
		p.Wrap("", agreeWords(&r.Agreements[i]))
	}
	if len(r.Agreements) > 0 {
		p.Line("")
	}
	switch {
	case len(r.Kept) > 0:
		p.Wrap("", fmt.Sprintf(wordsKept, strings.Join(r.Kept, ", ")))
	case !kept && r.Placement != nil:
		p.Wrap("do next: ", wordsKeep)
	}
	for _, n := range r.Notes {
		p.Wrap("noted:   ", n)
	}
	return p.Print(w)
}

// printPlacing prints the standard deviations of placing: by rater, over all, by landmark.
func printPlacing(p *terminal.Printer, r *desk.Repeat) {
	p.Line(wordsPlacing)
	row := func(name string, s change.Spread) {
		p.Wrap(fmt.Sprintf("  %-16s ", name), spreadWords(wordsPixels, s.SD, s.Interval))
	}
	for _, f := range r.Raters {
		if f.PlacementPx != nil {
			row(f.Name, *f.PlacementPx)
		}
	}
	if len(r.Placement.ByRater) > 1 {
		row(wordsOverRaters, r.Placement.Within)
	}
	if b := r.Placement.BetweenPx; b != nil {
		p.Line("  %-16s %.2g px", wordsApart, *b)
	}
	for _, l := range slices.Sorted(maps.Keys(r.Placement.ByLandmark)) {
		row("· "+l, r.Placement.ByLandmark[l])
	}
}

// printAngles prints the errors of the angle: of each rater, within and between raters.
func printAngles(p *terminal.Printer, r *desk.Repeat) {
	p.Line(wordsAngles)
	row := func(name string, e *change.Error) {
		if e == nil {
			return
		}
		p.Wrap("  ", name)
		for _, text := range errorWords(e) {
			p.Wrap("    ", text)
		}
	}
	twice := 0
	for _, f := range r.Raters {
		row(fmt.Sprintf(wordsAgain, f.Name), f.Angle)
		if f.Angle != nil {
			twice++
		}
	}
	if twice > 1 {
		row(wordsSameRater, r.Repeatability.Within)
	}
	row(wordsAnyRater, r.Repeatability.Between)
	if c := r.Repeatability.ICC; c != nil {
		p.Wrap("  ", fmt.Sprintf(wordsICC, c.OneWay))
	}
	for _, n := range r.Repeatability.Notes {
		p.Wrap("  ", n)
	}
}
