package cli

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
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
			o.obliqueGiven = c.Flags().Changed("oblique")
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
	f.StringVar(&k.day, "day", "", "the `DATE` on which the takes were made, such as 2026-03-21; else that of each take itself")
	f.StringVar(&k.condition, "condition", "", "who moved the limb: `HOW` is passive, active or in-skill")
	f.StringVar(&k.state, "state", "", "the `STATE` of the body: cold, warm or after (at the end of a session)")
	f.StringVar(&k.session, "session", "", "a `NAME` that tells two sessions of one day apart")
	f.StringVar(&k.setup, "setup", "", "a `NAME` for where and how the camera stood")
	f.StringVar(&k.rater, "rater", "", "who placed the marks: where 'ecart repeat' has found how well `NAME` does, that figure is used")
}

func squadRun(ctx context.Context, s streams, o squadOptions) error {
	run, data, err := o.read(ctx, s)
	if err != nil {
		return err
	}
	// what was read is worth having if the rest was stopped, so the work goes on without
	// the signal
	stopped, ctx := ctx.Err() != nil, context.WithoutCancel(ctx)
	if o.keepAll {
		run.Keep(ctx, func() (*journal.Journal, error) { return openJournal(o.keep.journal, journal.Options{Create: true}) })
	}
	r := run.Report(filepath.Base(o.list), data)
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

// read reads the list and its takes; data is the list's file.
func (o *squadOptions) read(ctx context.Context, s streams) (run *session.Session, data []byte, err error) {
	if data, err = readSmall("list", o.list); err != nil {
		return nil, nil, err
	}
	list, err := session.Parse(o.list, data)
	if err != nil {
		return nil, nil, err
	}
	if err := o.checkAll(s, list); err != nil {
		return nil, nil, err
	}
	memory, err := session.OpenMemory()
	if err != nil {
		fmt.Fprintln(s.err, oneLine(fmt.Sprintf("what is read cannot be remembered for a second run: %v", err)))
	}
	progress := newSquadProgress(s, len(list.Rows))
	defer progress.stop()
	reader := rowReader{&o.readOptions, filepath.Dir(o.list)}
	return session.Run(ctx, list, session.Options{Reader: reader.question, Memory: memory, Afresh: o.afresh, Version: version(),
		Coverage: o.confidence, Seed: o.seed, Progress: progress.hear}), data, nil
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
		return &halted{fmt.Sprintf("stopped with %d of %d rows read, which are remembered", r.Read, r.Rows), "give the same command again: it goes on where it was stopped"}
	case n > 0:
		return &failure{fact: fmt.Sprintf("%d of %d rows were not read: %s", n, r.Rows, lines(r.NotRead)), hint: "each is named in the result with its reason; give the same command again, and only what is new or changed is read"}
	case k > 0:
		return &failure{fact: fmt.Sprintf("%d of %d readings were not kept: %s", k, r.Read, lines(r.NotKept)), hint: "each is named in the result with its reason; give the same command again, and nothing is read or kept twice"}
	}
	return nil
}

// checkAll checks the flags before any take is opened, since a fault there is one of every
// row.
func (o *squadOptions) checkAll(s streams, list *session.List) error {
	if !list.Has("skill", "measure") && o.skill == "" && o.measure == "" {
		return &inputError{fmt.Sprintf(`the list %q has neither a column "skill" nor a column "measure", and no flag names one`, o.list),
			"add the column, or give --skill NAME for all rows ('ecart rules' lists them)"}
	}
	probe := o.readOptions
	if probe.skill == "" && probe.measure == "" {
		probe.measure = "hip-split" // a placeholder: each row names its own
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
