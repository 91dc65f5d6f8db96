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

// sheetScreensOptions are what 'ecart sheet screens' was asked with, as typed.
type sheetScreensOptions struct {
	command.ScreenOptions
	page   sheetPage
	list   string
	toTake bool
}

func newSheetScreens(s terminal.Streams) *cobra.Command {
	o := sheetScreensOptions{ScreenOptions: command.ScreenOptions{Now: time.Now}}
	c := &cobra.Command{
		Use:   "screens [LIST] --movement MOVEMENT",
		Short: "the gaps of a squad, or its takes to make: what 'ecart screen --squad' or --all finds",
		Long: `Writes the screens of the athletes of a squad's LIST on a page, or without one of
all athletes of the journal, for a coach: a row for each side, first those with a
gap that is shown, then the undecided with the takes that would tell. With --to-take
the page has the takes that are missing or would tell, with boxes to tick: one
condition of all athletes, then the next.`,
		Example: `  ecart sheet screens monday.csv --movement split --skill split-leap
  ecart sheet screens monday.csv --movement split --to-take --out takes.html`,
		Args: flags.OptionalArg("list"),
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				o.list = args[0]
			}
			return sheetScreensRun(c.Context(), s, &o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.ScreenOptions.AddFlags(f)
	f.BoolVar(&o.toTake, "to-take", false, "the takes that are missing or would tell, to be ticked in the hall")
	o.page.addFlags(f)
	flags.AddJournal(f, &o.Journal)
	flags.AddRulesDir(f, &o.Rules)
	return c
}

func sheetScreensRun(ctx context.Context, s terminal.Streams, o *sheetScreensOptions) error {
	o.page.files.From(o.list)
	page := "screens"
	if o.toTake {
		page = "takes"
	}
	return o.page.ofAthlete(ctx, s, page, string(sheet.Coach), o.Journal, func() (string, writesPage, error) {
		r, err := o.SquadScreen(ctx, s, o.list, o.toTake)
		if err != nil {
			return "", nil, err
		}
		if o.toTake {
			in := record.TakesPage(r)
			return "", func(w io.Writer, opt sheet.Options) error { return sheet.WriteTakes(w, in, opt) }, nil
		}
		in := record.ScreensPage(r)
		return "", func(w io.Writer, opt sheet.Options) error { return sheet.WriteScreens(w, in, opt) }, nil
	})
}
