package cli

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/pflag"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/sheet"
)

// besideRun makes the sheet of two readings side by side.
func (o *sheetOptions) besideRun(ctx context.Context, s streams, opt sheet.Options, f *pflag.FlagSet) error {
	switch {
	case len(o.from)+len(o.entries) != 2:
		return fault.New(fmt.Sprintf("--side-by-side takes two readings, and %d were given", len(o.from)+len(o.entries)), "give two of what 'ecart read --json' printed, of marks files, or of the journal with --entry")
	case opt.For != sheet.Judge:
		return fault.New(fmt.Sprintf("two takes side by side are a judge's page, and --for says %s", opt.For), "leave --for out")
	case len(o.cover.At) > 0:
		return fault.New("--cover names a place in one picture, and side by side there are two", "give --faceless, with a mark on each shoulder")
	case len(o.takes) > 2:
		return fault.New(fmt.Sprintf("two readings are of two takes, and %d were given", len(o.takes)), "give --take twice, in the order of the readings")
	}
	if err := o.writableOut(); err != nil {
		return err
	}
	var ins [2]*sheet.Input
	var rs [2]change.Reading
	for i := range ins {
		var err error
		if ins[i], rs[i], err = o.source(ctx, s, i, f); err != nil {
			return err
		}
	}
	return o.pair(ctx, s, opt, ins, rs)
}

// pair compares the two and writes the page.
func (o *sheetOptions) pair(ctx context.Context, s streams, opt sheet.Options, ins [2]*sheet.Input, rs [2]change.Reading) error {
	d, err := change.Compare(rs[:1], rs[1:], ins[0].Reading.Coverage)
	if err != nil {
		return err
	}
	made := sheetMade{Schema: "ecart/sheet/1", File: o.out, For: string(opt.For), Paper: string(opt.Paper), Locale: opt.Locale.String(),
		SHA256: []string{ins[0].Reading.Take.SHA256, ins[1].Reading.Take.SHA256}, Covered: len(ins[0].Covers) > 0 && len(ins[1].Covers) > 0, Difference: d}
	return o.write(ctx, s, made, func(w io.Writer) error { return sheet.WritePair(w, *ins[0], *ins[1], d, opt) })
}
