// Package squad has the command of a session of many athletes.
package squad

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/session"
)

// squadOptions are the flags of 'ecart squad', as typed. A cell of a row takes precedence
// over its flag.
type squadOptions struct {
	flags.ReadOptions // Keep: how a reading is filed if its row does not say
	list              string
	keepAll           bool
	afresh            bool
	figure, csv       string
	json              bool
}

func New(s terminal.Streams) *cobra.Command {
	var o squadOptions
	c := &cobra.Command{
		Use:     "squad LIST",
		Short:   squadShort,
		Long:    squadLong,
		Example: squadExample,
		Args:    flags.OneArg("list"),
		RunE: func(c *cobra.Command, args []string) error {
			o.list = args[0]
			return squadRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.figure, "figure", "", "draw the squad on one page into `FILE`, which ends in .png or .svg")
	f.StringVar(&o.csv, "csv", "", "write one row a take into the CSV `FILE`, for a spreadsheet")
	flags.AddForce(f, &o.Files)
	f.BoolVar(&o.json, "json", false, "print it as JSON ("+session.Schema+"), in full precision")
	f.BoolVar(&o.afresh, "afresh", false, "read every row anew, whatever was read before")
	f.BoolVar(&o.keepAll, "keep", false, "keep every reading in the journal, under its athlete")
	flags.AddJournal(f, &o.Keep.Journal)
	flags.AddFiling(f, &o.Keep)
	flags.AddReading(f, &o.ReadOptions)
	return c
}

func squadRun(ctx context.Context, s terminal.Streams, o squadOptions) error {
	d := o.Desk(s)
	list, err := d.OpenList(desk.ListAsk{Path: o.list, Ask: o.Ask, Filing: o.Keep.Filing, Keep: o.keepAll, Afresh: o.afresh})
	if err != nil {
		return err
	}
	o.Files.From(o.list, o.Lens, o.Priors, o.Keep.Journal)
	if err := flags.AddChart(&o.Files, o.figure); err != nil {
		return err
	}
	if err := addCSV(&o.Files, o.csv); err != nil {
		return err
	}
	run := d.ReadList(ctx, list, ListProgress(s))
	// keep what was read even if the rest was stopped: go on without the signal
	stopped, ctx := ctx.Err() != nil, context.WithoutCancel(ctx)
	if o.keepAll {
		d.KeepList(ctx, run)
	}
	r := list.Report(run)
	for _, row := range run.Outcomes() {
		o.Files.From(row.Files.Take, row.Files.Marks, row.Files.Seeds)
	}
	if o.figure != "" {
		if err := drawSquad(ctx, &o.Files, o.figure, r); err != nil {
			return err
		}
	}
	if o.csv != "" {
		if err := writeSquadCSV(ctx, &o.Files, o.csv, r); err != nil {
			return err
		}
	}
	if o.json {
		err = terminal.PrintJSON(s.Out, r)
	} else {
		err = printSquad(s.Out, r)
	}
	if err != nil {
		return err
	}
	return Outcome(r, stopped)
}

// ListProgress returns a function that shows the progress of a list of so many rows.
func ListProgress(s terminal.Streams) func(rows int) (hear func(session.Event), end func()) {
	return func(rows int) (func(session.Event), func()) {
		p := newSquadProgress(s, rows)
		return p.hear, p.stop
	}
}

// Outcome returns nil if every row was read and kept, else the error with which the command ends.
func Outcome(r *session.Report, stopped bool) error {
	lines := func(fs []session.Failure) string {
		const most = 6
		var out []string
		for _, f := range fs[:min(most, len(fs))] {
			out = append(out, fmt.Sprintf("line %d", f.Line))
		}
		if len(fs) > most {
			out = append(out, "...")
		}
		return strings.Join(out, ", ")
	}
	switch n, k := len(r.NotRead), len(r.NotKept); {
	case stopped && n > 0:
		return fault.Stopped(fmt.Sprintf("stopped with %d of %d rows read, which are remembered", r.Read, r.Rows), "give the same command again: it goes on where it was stopped")
	case n > 0:
		return fault.Failed(fmt.Sprintf("%d of %d rows were not read: %s", n, r.Rows, lines(r.NotRead)), "each is named in the result with its reason; give the same command again, and only what is new or changed is read", nil)
	case k > 0:
		return fault.Failed(fmt.Sprintf("%d of %d readings were not kept: %s", k, r.Read, lines(r.NotKept)), "each is named in the result with its reason; give the same command again, and nothing is read or kept twice", nil)
	}
	return nil
}
