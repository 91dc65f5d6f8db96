package cli

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/session"
)

// squadOptions are the flags of 'ecart squad', as typed. A cell of a row takes precedence
// over its flag.
type squadOptions struct {
	readOptions // its keep says how each reading is filed where its row does not
	list        string
	keepAll     bool
	afresh      bool
	figure, csv string
	json        bool
}

func newSquad(s streams) *cobra.Command {
	var o squadOptions
	c := &cobra.Command{
		Use:     "squad LIST",
		Short:   squadShort,
		Long:    squadLong,
		Example: squadExample,
		Args:    oneArg("list"),
		RunE: func(c *cobra.Command, args []string) error {
			o.list = args[0]
			o.ObliqueGiven = c.Flags().Changed("oblique")
			return squadRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.figure, "figure", "", "draw the squad on one page into `FILE`, which ends in .png or .svg")
	f.StringVar(&o.csv, "csv", "", "write one row a take into the CSV `FILE`, for a spreadsheet")
	addForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, "print it as JSON ("+session.Schema+"), in full precision")
	f.BoolVar(&o.afresh, "afresh", false, "read every row anew, whatever was read before")
	f.BoolVar(&o.keepAll, "keep", false, "keep every reading in the journal, under its athlete")
	addJournal(f, &o.keep.journal)
	addFiling(f, &o.keep)
	addReadingFlags(f, &o.readOptions)
	return c
}

// addFiling adds the flags for how readings are filed whose rows do not say it.
func addFiling(f *pflag.FlagSet, k *keepOptions) {
	addDayStateCondition(f, k)
	f.StringVar(&k.Session, "session", "", "a `NAME` that tells two sessions of one day apart")
	f.StringVar(&k.Setup, "setup", "", "a `NAME` for where and how the camera stood")
	f.StringVar(&k.Rater, "rater", "", "who placed the marks: where 'ecart repeat' has found how well `NAME` does, that figure is used")
}

func addDayStateCondition(f *pflag.FlagSet, k *keepOptions) {
	f.StringVar(&k.Day, "day", "", "the `DATE` on which the takes were made, such as 2026-03-21; else that of each take itself")
	f.StringVar(&k.Condition, "condition", "", "who moved the limb: `HOW` is passive, active or in-skill")
	f.StringVar(&k.State, "state", "", "the `STATE` of the body: cold, warm or after (at the end of a session)")
}

func squadRun(ctx context.Context, s streams, o squadOptions) error {
	d := o.desk(s)
	list, err := d.OpenList(desk.ListAsk{Path: o.list, Ask: o.Ask, Filing: o.keep.Filing, Keep: o.keepAll, Afresh: o.afresh})
	if err != nil {
		return err
	}
	o.files.From(o.list, o.Lens, o.Priors, o.keep.journal)
	if err := addChart(&o.files, o.figure); err != nil {
		return err
	}
	if err := addCSV(&o.files, o.csv); err != nil {
		return err
	}
	run := d.ReadList(ctx, list, s.listEvents)
	// what was read is worth having if the rest was stopped, so the work goes on without
	// the signal
	stopped, ctx := ctx.Err() != nil, context.WithoutCancel(ctx)
	if o.keepAll {
		d.KeepList(ctx, run)
	}
	r := list.Report(run)
	for _, row := range run.Outcomes() {
		o.files.From(row.Files.Take, row.Files.Marks, row.Files.Seeds)
	}
	if o.figure != "" {
		if err := drawSquad(ctx, &o.files, o.figure, r); err != nil {
			return err
		}
	}
	if o.csv != "" {
		if err := writeSquadCSV(ctx, &o.files, o.csv, r); err != nil {
			return err
		}
	}
	if o.json {
		err = printJSON(s.out, r)
	} else {
		err = printSquad(s.out, r)
	}
	if err != nil {
		return err
	}
	return squadOutcome(r, stopped)
}

// listEvents shows how far a list is read.
func (s streams) listEvents(rows int) (hear func(session.Event), end func()) {
	p := newSquadProgress(s, rows)
	return p.hear, p.stop
}

// squadOutcome is the error with which the command ends, nil if every row was read and
// kept.
func squadOutcome(r *session.Report, stopped bool) error {
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
