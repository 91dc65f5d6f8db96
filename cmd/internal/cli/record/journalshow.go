package record

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
)

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

// printFiling says how an entry is filed, and a note on its reading, "" for none.
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
