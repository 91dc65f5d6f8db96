package record

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/movement"
	"ecart/geometry"
	"ecart/geometry/uncertainty"
)

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

// group is the readings of one athlete that are comparable.
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

// measuredWords say what was measured, of which side, and how.
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
