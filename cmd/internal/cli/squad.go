package cli

import (
	"context"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/squad"
)

// squadOptions are what 'ecart squad' was asked, as typed. What a row of the list
// says goes before what the flags say.
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
			o.obliqueGiven = c.Flags().Changed("oblique")
			return squadRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.figure, "figure", "", "draw the squad on one page into `FILE`, which ends in .png or .svg")
	f.StringVar(&o.csv, "csv", "", "write one row a take into the CSV `FILE`, for a spreadsheet")
	addForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, "print it as JSON ("+squadSchema+"), in full precision")
	f.BoolVar(&o.afresh, "afresh", false, "read every row anew, whatever was read before")
	f.BoolVar(&o.keepAll, "keep", false, "keep every reading in the journal, under its athlete")
	addJournal(f, &o.keep.journal)
	addFiling(f, &o.keep)
	addReadingFlags(f, &o.readOptions)
	return c
}

// addFiling adds what says how the readings of a list are filed, where its rows do
// not.
func addFiling(f *pflag.FlagSet, k *keepOptions) {
	f.StringVar(&k.day, "day", "", "the `DATE` on which the takes were made, such as 2026-03-21; else that of each take itself")
	f.StringVar(&k.condition, "condition", "", "who moved the limb: `HOW` is passive, active or in-skill")
	f.StringVar(&k.state, "state", "", "the `STATE` of the body: cold, warm or after (at the end of a session)")
	f.StringVar(&k.session, "session", "", "a `NAME` that tells two sessions of one day apart")
	f.StringVar(&k.setup, "setup", "", "a `NAME` for where and how the camera stood")
	f.StringVar(&k.rater, "rater", "", "who placed the marks: where 'ecart repeat' has found how well `NAME` does, that figure is used")
}

func squadRun(ctx context.Context, s streams, o squadOptions) error {
	data, err := readSmall("list", o.list)
	if err != nil {
		return err
	}
	list, err := squad.Parse(o.list, data)
	if err != nil {
		return err
	}
	if err := o.checkAll(s, list); err != nil {
		return err
	}
	w := &squadWork{o: &o, list: list, memory: openMemory(s.err), folder: filepath.Dir(o.list), progress: newSquadProgress(s, len(list.Rows))}
	w.run(ctx)
	// what was read is worth having where the rest was stopped, so the work goes on
	// without the signal
	stopped, ctx := ctx.Err() != nil, context.WithoutCancel(ctx)
	if o.keepAll {
		w.keepAll(ctx)
	}
	r := w.report(filepath.Base(o.list), data)
	for _, j := range w.jobs {
		o.files.From(j.o.take, j.o.marks, j.o.seeds)
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
	return r.outcome(stopped)
}

// checkAll looks through what the flags say, before any take is opened: what is
// wrong there is wrong for every row.
func (o *squadOptions) checkAll(s streams, list *squad.List) error {
	if !list.Has("skill", "measure") && o.skill == "" && o.measure == "" {
		return &inputError{fmt.Sprintf(`the list %q has neither a column "skill" nor a column "measure", and no flag names one`, o.list),
			"add the column, or give --skill NAME for all rows ('ecart rules' lists them)"}
	}
	probe := o.readOptions
	if probe.skill == "" && probe.measure == "" {
		probe.measure = "hip-split" // which plays no part: the rows name their own
		if lib, err := library(o.rules); err == nil {
			warnRules(lib, s.err)
		}
	}
	if _, err := probe.requestWith(s.err, &reading.Marks{Schema: reading.MarksSchema}); err != nil {
		return err
	}
	probing := o.keep
	probing.athlete = "any"
	if err := probing.checkFiling(o.keepAll); err != nil {
		return err
	}
	o.files.From(o.list, o.lens, o.priors, o.keep.journal)
	if err := addChart(&o.files, o.figure); err != nil {
		return err
	}
	return addCSV(&o.files, o.csv)
}
