// Package record has the commands that read or change what was kept: journal, change, screen and the like, and
// repeat, which keeps how well a rater places marks.
package record

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/movement"
	"ecart/geometry"
	"ecart/geometry/uncertainty"

	"github.com/spf13/cobra"
)

func NewJournal(s terminal.Streams) *cobra.Command {
	var file string
	c := &cobra.Command{
		Use:   "journal",
		Short: "the readings that were kept: list, show, export, erase",
		Long: `The journal has the readings that were kept, with 'ecart read ... --keep ATHLETE',
'ecart follow ... --keep ATHLETE' or on the page, and all that is needed to make
each again. It is one file on this machine, which only you can read; names can
be pseudonyms, and one name is one athlete, whichever its case.`,
		Example: `  ecart journal list --athlete Wren --measure hip-split
  ecart journal export --csv --out readings.csv
  ecart journal erase Wren`,
		Args: flags.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	flags.AddJournal(c.PersistentFlags(), &file)
	c.AddCommand(newJournalList(s, &file), newJournalShow(s, &file), newJournalExport(s, &file), newJournalImport(s, &file),
		newJournalMove(s, &file), newJournalRecompute(s, &file), newJournalRelocate(s, &file), newJournalErase(s, &file))
	return c
}

// inJournal calls f with the opened journal and closes it.
func inJournal(file string, opt journal.Options, f func(*journal.Journal) error) error {
	return desk.New(desk.Options{Journal: file}).InJournal(opt, f)
}

// counted returns a number with what it counts.
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func readings(n int) string { return counted(n, "reading", "readings") }

func newJournalList(s terminal.Streams, file *string) *cobra.Command {
	var q journal.Filter
	var asJSON bool
	c := &cobra.Command{
		Use: "list", Short: "the readings, by athlete and day",
		Long: `Lists the readings by athlete, what was measured and day: number, day of the take,
angle with its uncertainty, and whether the skill was met: meets, short or undecided.`,
		Example: "  ecart journal list\n  ecart journal list --athlete Wren --measure hip-split --from 2026-01-01",
		Args:    flags.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return journalList(c.Context(), s, *file, q, asJSON) },
	}
	flags.AddFilter(c.Flags(), &q)
	c.Flags().BoolVar(&asJSON, "json", false, "print as JSON, one object a reading")
	c.Flags().SortFlags = false
	return c
}

func journalList(ctx context.Context, s terminal.Streams, file string, q journal.Filter, asJSON bool) error {
	if err := desk.CheckFilter(q); err != nil {
		return err
	}
	return inJournal(file, journal.Options{Read: true}, func(j *journal.Journal) error {
		rows, err := j.List(ctx, q)
		var damaged journal.DamagedReadings
		if err != nil && !errors.As(err, &damaged) {
			return err
		}
		if asJSON {
			if rows == nil {
				rows = []journal.Row{}
			}
			return orDamaged(terminal.PrintJSON(s.Out, rows), damaged)
		}
		var p terminal.Printer
		printRows(&p, rows)
		err = p.Print(s.Out)
		return orDamaged(err, damaged)
	})
}

// printRows prints rows that are sorted by athlete.
func printRows(p *terminal.Printer, rows []journal.Row) {
	if len(rows) == 0 {
		p.Line("no reading")
		return
	}
	wide := len(fmt.Sprint(maxID(rows)))
	athletes := 0
	for from := 0; from < len(rows); {
		to := from
		for to < len(rows) && rows[to].Athlete == rows[from].Athlete {
			to++
		}
		p.Wrap("", rows[from].Athlete)
		for _, g := range grouped(rows[from:to]) {
			p.Wrap("  ", g.what)
			for _, r := range g.rows {
				printRow(p, r, wide)
			}
		}
		p.Line("")
		athletes++
		from = to
	}
	p.Line("%s of %s", readings(len(rows)), counted(athletes, "athlete", "athletes"))
}

func printRow(p *terminal.Printer, r *journal.Row, wide int) {
	value, plus := uncertainty.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
	p.Line("  %*d %s %6s° ± %-4s %s", wide, r.ID, r.Day, value, plus, r.Decision)
}

func maxID(rows []journal.Row) (most int64) {
	for i := range rows {
		most = max(most, rows[i].ID)
	}
	return most
}

// group has the readings of one athlete that are comparable.
type group struct {
	what string
	rows []*journal.Row
}

// grouped groups an athlete's rows by what was measured, in order of first appearance.
func grouped(rows []journal.Row) (out []group) {
	place := map[string]int{}
	for i := range rows {
		what := measuredWords(&rows[i])
		at, ok := place[what]
		if !ok {
			at = len(out)
			place[what] = at
			out = append(out, group{what: what})
		}
		out[at].rows = append(out[at].rows, &rows[i])
	}
	return out
}

// measuredWords returns what was measured, of which side, and how.
func measuredWords(r *journal.Row) string {
	parts := []string{r.Measure}
	if m, ok := geometry.Lookup(r.Measure); ok {
		parts[0] = m.Title
	}
	for _, v := range []string{movement.VariantWords(r.Measure, r.Variant), r.Side, r.Condition, r.State} {
		if v != "" && v != journal.Unknown {
			parts = append(parts, v)
		}
	}
	return strings.Join(parts, ", ")
}

func newJournalShow(s terminal.Streams, file *string) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use: "show N", Short: "one reading with all that was kept of it",
		Example: "  ecart journal show 12\n  ecart journal show 12 --json",
		Args:    flags.OneArg("number of a reading"),
		RunE:    func(c *cobra.Command, a []string) error { return journalShow(c.Context(), s, *file, a[0], asJSON) },
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print all of it as JSON: how it is filed, the marks, what it was asked with, the reading, and what it said formerly")
	return c
}

// shownEntry is an entry with its number, which belongs to one journal.
type shownEntry struct {
	ID int64 `json:"id"`
	*journal.Entry
}

func journalShow(ctx context.Context, s terminal.Streams, file, number string, asJSON bool) error {
	id, err := flags.ReadingNumber(number)
	if err != nil {
		return err
	}
	return inJournal(file, journal.Options{Read: true}, func(j *journal.Journal) error {
		e, err := j.Show(ctx, id)
		if err != nil {
			return err
		}
		if asJSON {
			return terminal.PrintJSON(s.Out, shownEntry{e.ID, e})
		}
		q, err := desk.Again(e)
		if err != nil {
			return err
		}
		r, err := e.Parse()
		if err != nil {
			return err
		}
		if err := printFiling(s.Out, e, desk.AtLeastOf(e, r)); err != nil {
			return err
		}
		return terminal.PrintReading(s.Out, r, q)
	})
}

// printFiling prints how an entry is filed, and a note on its reading unless it is "".
func printFiling(w io.Writer, e *journal.Entry, note string) error {
	var p terminal.Printer
	p.Wrap("", fmt.Sprintf("reading %d of %s, %s", e.ID, e.Athlete, e.Day))
	for _, l := range []struct{ what, value string }{
		{"session", e.Session}, {"side", e.Side}, {"condition", e.Condition}, {"position", e.Variant}, {"state", e.State}, {"marked by", e.Rater}, {"set-up", e.Setup},
		{"note", e.Note}, {"kept", e.KeptAt}, {"by ecart", e.Tool},
	} {
		if l.value != "" && l.value != journal.Unknown {
			p.Wrap(fmt.Sprintf("  %-10s ", l.what), l.value)
		}
	}
	for _, f := range e.Former {
		p.Wrap("  ", fmt.Sprintf("made again on %.10s, in place of what ecart %s said", f.ReplacedAt, f.Tool))
	}
	if note != "" {
		p.Wrap("  noted      ", note)
	}
	p.Line("")
	return p.Print(w)
}
