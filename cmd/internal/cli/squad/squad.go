// Package squad has the command of a session of many athletes.
package squad

import (
	"context"
	"fmt"
	"io"
	"strings"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/session"

	"github.com/spf13/cobra"
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
	list, err := d.OpenList(desk.ListAsk{Path: o.list, Ask: o.Ask, Filing: o.Keep.Filing, Keep: o.keepAll, Afresh: o.afresh, Door: terminal.ListDoor})
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
		o.Files.From(append([]string{row.Files.Take, row.Files.Marks}, row.Files.Seeds...)...)
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
		return p.handle, p.stop
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

const squadShort = "a session of many athletes from one list: read all, one table, one picture"

var squadLong = `Reads every take of a list, two at a time, and shows the squad at a glance: who
is short of what is asked, whose picture cannot decide, and, of athletes read
passive, active and in-skill on one day, whether range, control or use is
missing most.

The list is a table with a row of heads, as a spreadsheet saves it: CSV parted
by commas, semicolons or tabs. One row is one take of one athlete:

  athlete;take;seeds;marks;skill;condition;stature
  Wren;leap.mp4;leap.marks.json;;split-leap;in-skill;152cm
  Wren;floor.jpg;;floor.marks.json;split-leap;passive;152cm

Needed are athlete, take and one of marks (a marks file, read on its frame, or
the CSV of 'ecart follow', with the frame or peak under at), seeds and colours
(a clip, followed and read at its peak). Several files under seeds, for several
frames, have bars between them: one.json | two.json. A row with none of them
gets marks proposed from the picture, after 'make pose': it is named with the
angle that is proposed, and is neither judged nor kept. A skill or a measure
stands in the row or is given for all. What else a row may say, each as the flag
of its name:

` + indented(session.Columns[6:]) + `

What a row does not say is taken from the flags. Files are looked for from the
list's own folder. Where there is a column pseudonym, it is shown and kept, and
the name is not.

A row that fails is named with its reason and does not stop the others. What was
read or proposed is remembered, without names, in ecart/squad in your cache
folder, so that a second run reads only what is new or changed: a take, its
marks, what it is asked, or the version of ecart. Ctrl-C stops, and keeps what
is done.`

const squadExample = `  ecart squad monday.csv --figure monday.png
  ecart squad monday.csv --skill split-leap --camera by-eye --keep \
      --day 2026-03-21 --state warm --csv monday-read.csv`

func indented(names []string) string {
	return "  " + strings.Join(terminal.Broken(strings.Join(names, ", "), terminal.HelpWidth-2), "\n  ")
}

// printSquad prints the report for a terminal: a table for each measure, then who is
// short, meets it or is undecided.
func printSquad(w io.Writer, r *session.Report) error {
	p := terminal.Printer{Wide: terminal.HelpWidth}
	parts := []string{desk.Count(r.Rows, "row"), fmt.Sprintf("%d read", r.Read)}
	if r.Remembered > 0 {
		parts[1] += fmt.Sprintf(" (%d remembered)", r.Remembered)
	}
	if n := len(r.NotRead); n > 0 {
		parts = append(parts, fmt.Sprintf("%d not read", n))
	}
	p.Wrap("écart  ", "squad of "+r.List.Name+": "+strings.Join(parts, ", "))
	for _, m := range measuresOf(r) {
		printTable(&p, r, m)
	}
	printGroups(&p, r)
	printFailures(&p, "not read:", r.NotRead)
	printFailures(&p, "read and not kept:", r.NotKept)
	if len(r.Notes)+len(r.Cautions) > 0 {
		p.Line("")
	}
	for _, n := range r.Notes {
		p.Wrap("noted:   ", n)
	}
	for _, c := range r.Cautions {
		p.Wrap("caution: ", c)
	}
	return p.Print(w)
}

// printGroups prints who is short, meets it or is undecided, and who has which gap.
func printGroups(p *terminal.Printer, r *session.Report) {
	if len(r.Short)+len(r.Meets)+len(r.Undecided) > 0 {
		p.Line("")
	}
	for _, g := range []struct {
		head string
		who  []session.Standing
	}{{"short:        ", r.Short}, {"meet it:      ", r.Meets}, {"undecided:    ", r.Undecided}} {
		if len(g.who) > 0 {
			var who []string
			for _, w := range g.who {
				who = append(who, w.String())
			}
			p.Wrap(g.head, joined(who))
		}
	}
	for _, a := range r.Advice() {
		p.Wrap("  ", joined(a.Athletes)+": "+a.Text)
	}
	gaps := r.LargestGaps()
	for _, g := range []struct{ gap, means string }{{"range", "the helper took the limb no further"}, {"control", "the helper did, and own strength does not"}, {"use", "own strength does, and the skill does not show it"}} {
		if who := gaps[g.gap]; len(who) > 0 {
			p.Wrap(terminal.Padded(g.gap+" most:", 14), joined(who)+" ("+g.means+")")
		}
	}
}

// joined lists athletes; each stays on one line with its words.
func joined(who []string) string {
	var out []string
	for _, w := range who {
		out = append(out, terminal.Held(w))
	}
	return strings.Join(out, ", ")
}

func printFailures(p *terminal.Printer, head string, fs []session.Failure) {
	if len(fs) == 0 {
		return
	}
	p.Line("")
	p.Line("%s", head)
	for _, f := range fs {
		who := ""
		if f.Athlete != "" {
			who = ", " + f.Athlete
		}
		p.Wrap(fmt.Sprintf("  line %d%s: ", f.Line, who), f.Reason)
		if f.Do != "" {
			p.Wrap("    ", f.Do)
		}
	}
}
