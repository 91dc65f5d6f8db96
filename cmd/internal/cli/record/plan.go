package record

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/record"
	"ecart/geometry/uncertainty"
)

const (
	planShort = "how many takes, with which set-up, find a change by a day"
	planLong  = `Says before anything is filmed with which takes a change would be found by a day:
how many takes a day, how often, with which set-up of camera and landmarks. For
each way the table has the smallest change that 'ecart change' would call real in
8 of 10 cases (--chance). A dot is a way that finds the change asked for.

How uncertain a take is comes from a typical picture of the movement, and of an
athlete named with --athlete also from her last reading. How much she varies from
day to day comes from her own days, from --varies, or from published studies. The
change is taken to come about evenly from today on, and the takes to be made by
one rater with one set-up, both named: what these add then cancels in a change.`
	planExample = `  ecart plan shoulder-flexion --change 5 --by 2027-03-01
  ecart plan hip-split --change 8 --by 2027-03-01 --athlete Wren
  ecart plan hip-split --change 5 --by 2027-06-01 --varies 2 --chance 0.9
  ecart plan hip-split --change 5 --by 2027-06-01 --figure plan.svg`

	planFlagChange  = "the change that is worth finding, `DEG`"
	planFlagBy      = "the `DAY` by which it is to be found, such as 2027-03-01"
	planFlagAthlete = "the athlete `NAME` of the journal whose readings say how much she varies and how they are made"
	planFlagVaries  = "how much she varies from day to day, as a standard deviation in `DEG`, in place of what her days or published studies say"
	planFlagFigure  = "draw the plan into `FILE`, .png or .svg"
	planFlagChance  = "in which share of cases it is to be found, `P` between 0.5 and 0.99"

	wordsPlanTable = "the smallest change found in %.0f of 10 cases, in degrees"
	wordsPlanOne   = "%s (one take ± %s°)"
	planMark       = "●"
)

// PlanOptions are the flags of 'ecart plan'.
type PlanOptions struct {
	record.PlanAsk
	Journal string
	varies  float64
	given   bool
	figure  string
	files   output.Set
	json    bool
}

// AddFlags adds the flags that say what a plan is for.
func (o *PlanOptions) AddFlags(f *pflag.FlagSet) {
	f.Float64Var(&o.ChangeDeg, "change", 0, planFlagChange)
	f.StringVar(&o.By, "by", "", planFlagBy)
	f.StringVar(&o.Athlete, "athlete", "", planFlagAthlete)
	flags.FloatGiven(f, &o.varies, &o.given, "varies", planFlagVaries)
	f.Float64Var(&o.Chance, "chance", change.PlanChance, planFlagChance)
	f.Float64Var(&o.Confidence, "confidence", 0.95, changeFlagConfidence)
}

// Plan computes with which takes a change would be found.
func (o *PlanOptions) Plan(ctx context.Context, s terminal.Streams) (*record.Plan, error) {
	if o.given {
		o.VariesDeg = &o.varies
	}
	return record.New(s.DeskAt(o.Journal, "", time.Now)).Plan(ctx, o.PlanAsk)
}

func NewPlan(s terminal.Streams) *cobra.Command {
	var o PlanOptions
	c := &cobra.Command{
		Use:     "plan MEASURE --change DEG --by DAY",
		Short:   planShort,
		Long:    planLong,
		Example: planExample,
		Args:    flags.OneArg("measure"),
		RunE: func(c *cobra.Command, args []string) error {
			o.Measure = args[0]
			return planRun(c.Context(), s, &o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.AddFlags(f)
	f.StringVar(&o.figure, "figure", "", planFlagFigure)
	flags.AddForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, "print it as JSON ("+record.PlanSchema+"), in full precision")
	flags.AddJournal(f, &o.Journal)
	return c
}

func planRun(ctx context.Context, s terminal.Streams, o *PlanOptions) error {
	o.files.From(o.Journal)
	if err := flags.AddChart(&o.files, o.figure); err != nil {
		return err
	}
	p, err := o.Plan(ctx, s)
	if err != nil {
		return err
	}
	return show(ctx, s, asShown{&o.files, o.figure, o.json}, p, drawnPlan, printPlan)
}

func drawnPlan(p *record.Plan) (*chart.Drawing, error) { return p.Chart(chart.Options{}) }

// printPlan prints a plan, narrow enough for a phone.
func printPlan(w io.Writer, plan *record.Plan) error {
	var p terminal.Printer
	title := terminal.TitleOf(plan.Measure)
	if plan.Athlete != "" {
		title += ", " + plan.Athlete
	}
	p.Wrap("écart  ", title)
	p.Line("")
	p.Wrap("  ", plan.Sentence)
	p.Line("")
	p.Wrap("", fmt.Sprintf(wordsPlanTable, 10*plan.Chance))
	const column = 11
	for _, t := range plan.Tables() {
		_, single := uncertainty.Format(0, t.SingleDeg)
		p.Line("")
		p.Wrap("", fmt.Sprintf(wordsPlanOne, t.Setup, single))
		head := terminal.Padded("", column)
		for _, e := range t.Every {
			head += fmt.Sprintf("%*s", column+1, strings.TrimPrefix(e, "every "))
		}
		p.Line("%s", head)
		for _, r := range t.Rows {
			row := terminal.Padded("  "+desk.Count(r.Takes, "take"), column)
			for _, w := range r.Ways {
				cell := fmt.Sprintf("%.0f", math.Ceil(w.FoundDeg))
				if w.Finds {
					cell = planMark + " " + cell
				}
				row += fmt.Sprintf("%*s", column+1, cell)
			}
			p.Line("%s", row)
		}
		p.Wrap("  ", t.Says)
	}
	p.Line("")
	for _, n := range plan.Notes {
		p.Wrap("noted:   ", n)
	}
	for _, c := range plan.Cautions {
		p.Wrap("caution: ", c)
	}
	return p.Print(w)
}
