package cli

import (
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
)

func newJournal(s streams) *cobra.Command {
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
		Args: noArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	addJournal(c.PersistentFlags(), &file)
	c.AddCommand(newJournalList(s, &file), newJournalShow(s, &file), newJournalExport(s, &file), newJournalImport(s, &file),
		newJournalMove(s, &file), newJournalRecompute(s, &file), newJournalRelocate(s, &file), newJournalErase(s, &file))
	return c
}

// inJournal opens the journal for f, and closes it.
func inJournal(file string, opt journal.Options, f func(*journal.Journal) error) error {
	return desk.New(desk.Options{Journal: file}).InJournal(opt, f)
}

// counted is a number with what it counts.
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func readings(n int) string { return counted(n, "reading", "readings") }

// readingNumber reads the number of a reading.
func readingNumber(s string) (int64, error) {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil || n < 1 {
		return 0, fault.New(fmt.Sprintf("%q is no number of a reading", s), "'ecart journal list' shows the numbers there are")
	}
	return n, nil
}

// readingNumbers reads the numbers of readings as flags give them, nil of none.
func readingNumbers(list []string) (out []int64, err error) {
	for _, s := range list {
		n, err := readingNumber(s)
		if err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, nil
}
