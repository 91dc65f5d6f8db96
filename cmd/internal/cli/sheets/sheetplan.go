package sheets

import (
	"context"
	"io"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	command "ecart/cmd/internal/cli/record"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/record"
	"ecart/cmd/internal/sheet"
)

// sheetPlanOptions are what 'ecart sheet plan' was asked with, as typed.
type sheetPlanOptions struct {
	command.PlanOptions
	page sheetPage
}

func newSheetPlan(s terminal.Streams) *cobra.Command {
	var o sheetPlanOptions
	c := &cobra.Command{
		Use:   "plan MEASURE --change DEG --by DAY",
		Short: "with which takes a change is found by a day: what 'ecart plan' prints",
		Long: `Writes on a page with which takes a change would be found by a day, for a coach: of
each set-up the smallest change that is found, by takes a day and the time between
days. What finds the change asked for is in bold, with a dot.`,
		Example: `  ecart sheet plan shoulder-flexion --change 5 --by 2027-03-01 --out plan.html
  ecart sheet plan hip-split --change 8 --by 2027-03-01 --athlete Wren`,
		Args: flags.OneArg("measure"),
		RunE: func(c *cobra.Command, args []string) error {
			o.Measure = args[0]
			return sheetPlanRun(c.Context(), s, &o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.AddFlags(f)
	o.page.addFlags(f)
	flags.AddJournal(f, &o.Journal)
	return c
}

func sheetPlanRun(ctx context.Context, s terminal.Streams, o *sheetPlanOptions) error {
	return o.page.ofAthlete(ctx, s, "plan", string(sheet.Coach), o.Journal, func() (string, writesPage, error) {
		p, err := o.Plan(ctx, s)
		if err != nil {
			return "", nil, err
		}
		in := record.PlanPage(p)
		return p.Athlete, func(w io.Writer, opt sheet.Options) error { return sheet.WritePlan(w, in, opt) }, nil
	})
}
