package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/journal"
)

func newJournalExport(s streams, file *string) *cobra.Command {
	var q journal.Filter
	var out string
	var csv bool
	c := &cobra.Command{
		Use: "export", Short: "the readings as JSON, or as a table for a spreadsheet",
		Long: `Writes the readings, with all that was kept of them, as JSON (ecart/journal/1),
which 'ecart journal import' reads back without loss. With --csv a table that a
spreadsheet opens: one row a reading, the unit in each head, ISO 8601 dates.

There are names and days in it, and no place. Whom it is given to is yours to
decide.`,
		Example: "  ecart journal export --out hall.json\n  ecart journal export --csv --athlete Wren --out wren.csv",
		Args:    noArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return journalExport(c.Context(), s, *file, q, out, csv) },
	}
	c.Flags().SortFlags = false
	c.Flags().StringVar(&out, "out", "", "write into `FILE`; else to standard output")
	c.Flags().BoolVar(&csv, "csv", false, "write a table, which is not read back")
	addFilter(c.Flags(), &q)
	return c
}

func journalExport(ctx context.Context, s streams, file string, q journal.Filter, out string, csv bool) error {
	if err := checkFilter(q); err != nil {
		return err
	}
	return inJournal(file, journal.Options{Read: true}, func(j *journal.Journal) error {
		write := func(w io.Writer) error {
			if csv {
				return j.ExportCSV(ctx, w, q)
			}
			return j.Export(ctx, w, q)
		}
		if out == "" {
			return write(s.out)
		}
		if err := writableApart(out, j.Path()); err != nil {
			return err
		}
		return writeFile(out, write)
	})
}

func newJournalImport(s streams, file *string) *cobra.Command {
	c := &cobra.Command{
		Use: "import FILE", Short: "take in what 'ecart journal export' wrote as JSON",
		Long: `Takes in the JSON that 'ecart journal export' wrote: all of it, or where anything
is wrong with it nothing. What is there already stays as it is; what is there
and differs is named.`,
		Example: "  ecart journal import hall.json\n  ecart journal import hall.json --journal another.journal",
		Args:    oneArg("file"),
		RunE:    func(c *cobra.Command, a []string) error { return journalImport(c.Context(), s, *file, a[0]) },
	}
	return c
}

func journalImport(ctx context.Context, s streams, file, from string) (err error) {
	path, err := journalPath(file)
	if err != nil {
		return err
	}
	if err := tryImport(ctx, path, from); err != nil {
		return err
	}
	defer s.working(fmt.Sprintf("importing %q", from))()
	return inJournal(path, journal.Options{Create: true}, func(j *journal.Journal) error {
		got, err := importFile(ctx, j, from)
		if err != nil {
			return err
		}
		var p printer
		p.imported(got)
		_, err = io.WriteString(s.out, p.b.String())
		return err
	})
}

func importFile(ctx context.Context, j *journal.Journal, from string) (got journal.Imported, err error) {
	f, err := os.Open(from)
	if errors.Is(err, os.ErrNotExist) {
		return got, &inputError{fmt.Sprintf("there is no file %q", from), "check the name and the folder it is in"}
	}
	if err != nil {
		return got, &inputError{fmt.Sprintf("the file %q cannot be read: %v", from, cause(err)), "check the name and its permissions"}
	}
	defer f.Close()
	return j.Import(ctx, f)
}

// tryImport imports into a journal that is thrown away, where there is none yet: so
// that what cannot be imported does not leave an empty one behind.
func tryImport(ctx context.Context, path, from string) (err error) {
	if _, err := os.Stat(path); !errors.Is(err, os.ErrNotExist) {
		return nil // there is one, or Open says what is wrong
	}
	near := filepath.Dir(path)
	if _, err := os.Stat(near); err != nil {
		near = "" // the folder is made with the journal
	}
	dir, err := os.MkdirTemp(near, ".ecart-")
	if err != nil {
		return cannotWrite(path, err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	return inJournal(filepath.Join(dir, journalName), journal.Options{Create: true}, func(j *journal.Journal) error {
		_, err := importFile(ctx, j, from)
		return err
	})
}

// imported says what an import did.
func (p *printer) imported(got journal.Imported) {
	p.wrap("", fmt.Sprintf("%s new", readings(got.Added)))
	if got.Same > 0 {
		p.wrap("", fmt.Sprintf("%s there already, the same", readings(got.Same)))
	}
	if got.Raters > 0 {
		p.wrap("", counted(got.Raters, "rater", "raters")+" new")
	}
	for _, c := range got.Conflicts {
		who := fmt.Sprintf("the rater %s", c.Who)
		if c.ID != 0 {
			who = fmt.Sprintf("reading %d of %s, %s", c.ID, c.Who, c.Day)
		}
		p.wrap("left as it is: ", fmt.Sprintf("%s differs in %s", who, strings.Join(c.Differs, ", ")))
	}
}
