// Package record has the commands of what was kept: journal, change and screen, and repeat,
// which keeps how well a rater places marks.
package record

import (
	"fmt"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
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
