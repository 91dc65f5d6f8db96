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

// sheetScreenOptions are what 'ecart sheet screen' was asked with, as typed.
type sheetScreenOptions struct {
	command.ScreenOptions
	page     sheetPage
	audience string
}

func newSheetScreen(s terminal.Streams) *cobra.Command {
	o := sheetScreenOptions{ScreenOptions: command.ScreenOptions{Now: time.Now}}
	c := &cobra.Command{
		Use:   "screen ATHLETE --movement MOVEMENT",
		Short: "the gaps of one day: what 'ecart screen' finds",
		Long: `Writes on a page where the missing degrees are, range, control or use, from the
readings of the journal: what 'ecart screen' finds. It is for a coach, or in plain
words for an athlete or a parent where --for says so.`,
		Example: `  ecart sheet screen Wren --movement split --out gaps.html
  ecart sheet screen Wren --movement split --for parent --out wren.html`,
		Args: flags.OneArg("athlete"),
		RunE: func(c *cobra.Command, args []string) error {
			o.Athlete = args[0]
			return sheetScreenRun(c.Context(), s, &o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	addFor(f, &o.audience, sheet.Coach, "athlete or parent")
	o.ScreenOptions.AddFlags(f)
	o.page.addFlags(f)
	flags.AddJournal(f, &o.Journal)
	flags.AddRulesDir(f, &o.Rules)
	return c
}

func sheetScreenRun(ctx context.Context, s terminal.Streams, o *sheetScreenOptions) error {
	return o.page.ofAthlete(ctx, s, "screen", o.audience, o.Journal, func() (string, writesPage, error) {
		r, err := record.Of(s.Desk(o.Journal, o.Rules)).Screen(ctx, o.Ask())
		if err != nil {
			return "", nil, err
		}
		in := record.ScreenPage(r)
		return r.Athlete, func(w io.Writer, opt sheet.Options) error { return sheet.WriteScreen(w, in, opt) }, nil
	})
}
