package sheets

import (
	"context"
	"io"
	"time"

	"ecart/cmd/internal/cli/flags"
	command "ecart/cmd/internal/cli/record"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/record"
	"ecart/cmd/internal/sheet"

	"github.com/spf13/cobra"
)

// sheetScreenOptions are the flags of 'ecart sheet screen', as typed.
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
		r, err := record.New(s.Desk(o.Journal, o.Rules)).Screen(ctx, o.Ask())
		if err != nil {
			return "", nil, err
		}
		in := record.ScreenPage(r)
		return r.Athlete, func(w io.Writer, opt sheet.Options) error { return sheet.WriteScreen(w, in, opt) }, nil
	})
}

// sheetScreensOptions are the flags of 'ecart sheet screens', as typed.
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

// sheetContrastOptions are the flags of 'ecart sheet contrast', as typed.
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
		r, err := record.New(s.Desk(o.Journal, "")).Contrast(ctx, o.Ask())
		if err != nil {
			return "", nil, err
		}
		in := record.ContrastPage(r)
		return r.Athlete, func(w io.Writer, opt sheet.Options) error { return sheet.WriteContrast(w, in, opt) }, nil
	})
}
