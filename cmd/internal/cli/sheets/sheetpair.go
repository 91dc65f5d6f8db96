package sheets

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/sheet"
)

// sheetPairOptions are what 'ecart sheet pair' was asked with, as typed.
type sheetPairOptions struct {
	sheetSource
	page sheetPage
}

func newSheetPair(s terminal.Streams) *cobra.Command {
	var o sheetPairOptions
	c := &cobra.Command{
		Use:   "pair (READING | MARKS | --entry N) (READING | MARKS | --entry N)",
		Short: "two takes of one skill side by side, for a judge",
		Long: `Puts two takes of one skill on a page, both athletes equally large and level, and
says whether the readings differ by more than their uncertainty.

READING is what 'ecart read --json' printed, MARKS a marks file or the CSV of
'ecart follow', which is read as 'ecart read' would, with its flags, and --entry
a reading of the journal. Those of files come first. A take is found by its
content beside its reading or in a folder given with --in, or is named with
--take, in the order of the readings.

--faceless covers the heads of both with paper, worked out from the marks.`,
		Example: `  ecart sheet pair march.json june.json --in takes --out two.html
  ecart sheet pair --entry 4 --entry 12 --in takes --faceless --out two.html`,
		Args: func(_ *cobra.Command, args []string) error { o.from = args; return nil },
		RunE: func(c *cobra.Command, _ []string) error {
			return sheetPairRun(c.Context(), s, &o, c.Flags())
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.sheetSource.addFlags(f, "; given twice unless both are of one")
	flags.AddFaceless(f, &o.Cover)
	o.page.addFlags(f)
	o.addMarksFlags(f)
	return c
}

func sheetPairRun(ctx context.Context, s terminal.Streams, o *sheetPairOptions, f *pflag.FlagSet) error {
	opt, err := o.page.options(string(sheet.Judge), sheet.Audiences)
	switch {
	case err != nil:
		return err
	case len(o.from)+len(o.entries) != 2:
		return fault.New(fmt.Sprintf("'ecart sheet pair' takes two readings, and %d were given", len(o.from)+len(o.entries)), "give two of what 'ecart read --json' printed, of marks files, or of the journal with --entry")
	case len(o.takes) > 2:
		return fault.New(fmt.Sprintf("two readings are of two takes, and %d were given", len(o.takes)), "give --take twice, in the order of the readings")
	}
	if err := o.page.writable(o.inputs()...); err != nil {
		return err
	}
	var ins [2]*sheet.Input
	var rs [2]change.Reading
	for i := range ins {
		if ins[i], rs[i], err = o.source(ctx, s, i, f); err != nil {
			return err
		}
	}
	d, err := change.Compare(rs[:1], rs[1:], ins[0].Reading.Coverage)
	if err != nil {
		return err
	}
	written := writtenReadings{Schema: "ecart/sheet/1", File: o.page.out, For: string(opt.For), Paper: string(opt.Paper), Locale: opt.Locale.String(),
		SHA256: []string{ins[0].Reading.Take.SHA256, ins[1].Reading.Take.SHA256}, Covered: len(ins[0].Covers) > 0 && len(ins[1].Covers) > 0, Difference: d}
	return o.page.write(ctx, s, written, func(w io.Writer) error { return sheet.WritePair(w, *ins[0], *ins[1], d, opt) })
}
