package sheets

import (
	"context"
	"io"
	"time"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	command "ecart/cmd/internal/cli/record"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/record"
	"ecart/cmd/internal/sheet"
)

// sheetMonthsOptions are what 'ecart sheet months' was asked with, as typed.
type sheetMonthsOptions struct {
	command.ChangeOptions
	page     sheetPage
	audience string
}

func newSheetMonths(s terminal.Streams) *cobra.Command {
	o := sheetMonthsOptions{ChangeOptions: command.ChangeOptions{Now: time.Now}}
	c := &cobra.Command{
		Use:   "months ATHLETE --measure NAME",
		Short: "an athlete's months: what 'ecart change' finds",
		Long: `Writes an athlete's months on a page, from the readings of the journal: what
'ecart change' finds. It is for a coach, or in plain words for an athlete or a
parent where --for says so.`,
		Example: `  ecart sheet months Wren --measure hip-split --out months.html
  ecart sheet months Wren --measure hip-split --for parent --out wren.html`,
		Args: flags.OneArg("athlete"),
		RunE: func(c *cobra.Command, args []string) error {
			o.Filter.Athlete = args[0]
			return sheetMonthsRun(c.Context(), s, &o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	addFor(f, &o.audience, sheet.Coach, "athlete or parent")
	o.ChangeOptions.AddFlags(f)
	o.page.addFlags(f)
	flags.AddJournal(f, &o.Journal)
	flags.AddRulesDir(f, &o.Rules)
	return c
}

func sheetMonthsRun(ctx context.Context, s terminal.Streams, o *sheetMonthsOptions) error {
	return o.page.ofAthlete(ctx, s, "change", o.audience, o.Journal, func() (string, writesPage, error) {
		c, err := record.Of(s.Desk(o.Journal, o.Rules)).Change(ctx, o.Ask())
		if err != nil {
			return "", nil, err
		}
		in := record.MonthsPage(c)
		return c.Athlete, func(w io.Writer, opt sheet.Options) error { return sheet.WriteMonths(w, in, opt) }, nil
	})
}
