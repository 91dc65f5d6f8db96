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

// sheetContrastOptions are what 'ecart sheet contrast' was asked with, as typed.
type sheetContrastOptions struct {
	command.ContrastOptions
	page sheetPage
}

func newSheetContrast(s terminal.Streams) *cobra.Command {
	o := sheetContrastOptions{ContrastOptions: command.ContrastOptions{Now: time.Now}}
	c := &cobra.Command{
		Use:   "contrast ATHLETE --contrast CONTRAST",
		Short: "two takes that differ in one thing: what 'ecart screen --contrast' finds",
		Long: `Writes on a page what two takes that differ in one thing show: the difference with
its interval, what the pair separates, what is looked at next and what it cannot say.
It is for a coach, and for whoever examines the athlete. It finds no cause.`,
		Example: `  ecart sheet contrast Wren --contrast hip-flexion-knee --out contrast.html`,
		Args:    flags.OneArg("athlete"),
		RunE: func(c *cobra.Command, args []string) error {
			o.Athlete = args[0]
			return sheetContrastRun(c.Context(), s, &o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.ContrastOptions.AddFlags(f)
	o.page.addFlags(f)
	flags.AddJournal(f, &o.Journal)
	return c
}

func sheetContrastRun(ctx context.Context, s terminal.Streams, o *sheetContrastOptions) error {
	return o.page.ofAthlete(ctx, s, "contrast", string(sheet.Coach), o.Journal, func() (string, writesPage, error) {
		r, err := record.Of(s.Desk(o.Journal, "")).Contrast(ctx, o.Ask())
		if err != nil {
			return "", nil, err
		}
		in := record.ContrastPage(r)
		return r.Athlete, func(w io.Writer, opt sheet.Options) error { return sheet.WriteContrast(w, in, opt) }, nil
	})
}
