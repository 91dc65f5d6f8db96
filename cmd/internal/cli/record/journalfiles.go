package record

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"
)

func newJournalExport(s terminal.Streams, file *string) *cobra.Command {
	var q journal.Filter
	var out string
	var csv bool
	var files output.Set
	c := &cobra.Command{
		Use: "export", Short: "the readings as JSON, or as a table for a spreadsheet",
		Long: `Writes the readings, with all that was kept of them, as JSON (ecart/journal/1),
which 'ecart journal import' reads back without loss. With --csv a table that a
spreadsheet opens: one row a reading, the unit in each head, ISO 8601 dates.

There are names and days in it, and no place. Whom it is given to is yours to
decide.`,
		Example: "  ecart journal export --out hall.json\n  ecart journal export --csv --athlete Wren --out wren.csv",
		Args:    flags.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return journalExport(c.Context(), s, *file, q, out, csv, files)
		},
	}
	c.Flags().SortFlags = false
	c.Flags().StringVar(&out, "out", "", "write into `FILE`; else to standard output")
	c.Flags().BoolVar(&csv, "csv", false, "write a table, which is not read back")
	flags.AddForce(c.Flags(), &files)
	flags.AddFilter(c.Flags(), &q)
	return c
}

func journalExport(ctx context.Context, s terminal.Streams, file string, q journal.Filter, out string, csv bool, files output.Set) error {
	if err := desk.CheckFilter(q); err != nil {
		return err
	}
	return inJournal(file, journal.Options{Read: true}, func(j *journal.Journal) error {
		var damaged journal.DamagedReadings // the others are written
		write := func(w io.Writer) error {
			export := j.Export
			if csv {
				export = j.ExportCSV
			}
			if err := export(ctx, w, q); !errors.As(err, &damaged) {
				return err
			}
			return nil
		}
		if out == "" {
			return orDamaged(write(s.Out), damaged)
		}
		form := flags.ExportForm
		if csv {
			form = flags.ReadingsForm
		}
		files.From(j.Path())
		return orDamaged(files.Write(ctx, out, form, write), damaged)
	})
}

func newJournalImport(s terminal.Streams, file *string) *cobra.Command {
	c := &cobra.Command{
		Use: "import FILE", Short: "take in what 'ecart journal export' wrote as JSON",
		Long: `Takes in the JSON that 'ecart journal export' wrote: all of it, or where anything
is wrong with it nothing. What is there already stays as it is; what is there
and differs is named.`,
		Example: "  ecart journal import hall.json\n  ecart journal import hall.json --journal another.journal",
		Args:    flags.OneArg("file"),
		RunE:    func(c *cobra.Command, a []string) error { return journalImport(c.Context(), s, *file, a[0]) },
	}
	return c
}

func journalImport(ctx context.Context, s terminal.Streams, file, from string) (err error) {
	path, err := desk.New(desk.Options{Journal: file}).JournalPath()
	if err != nil {
		return err
	}
	defer s.Working(fmt.Sprintf("importing %q", from))()
	// checked first, so that a failed import leaves no empty journal
	if err := inFile(from, func(r io.Reader) error { return journal.CheckImport(r, time.Now) }); err != nil {
		return err
	}
	return inJournal(path, journal.Options{Create: true}, func(j *journal.Journal) error {
		var got journal.Imported
		err := inFile(from, func(r io.Reader) (err error) {
			got, err = j.Import(ctx, r)
			return err
		})
		if err != nil {
			return err
		}
		var p terminal.Printer
		printImported(&p, got)
		err = p.Print(s.Out)
		return err
	})
}

// inFile calls read with the opened file. It must be an ordinary file, since an import opens it twice.
func inFile(name string, read func(io.Reader) error) error {
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return fault.New(fmt.Sprintf("there is no file %q", name), "check the name and the folder it is in")
	case err == nil && info.IsDir():
		return fault.New(fmt.Sprintf("%q is a folder", name), "name a file in it")
	case err == nil && !info.Mode().IsRegular():
		return fault.New(fmt.Sprintf("%q is no ordinary file", name), "save it to a file first")
	}
	f, err := os.Open(name)
	if err != nil {
		return fault.New(fmt.Sprintf("the file %q cannot be read: %v", name, output.Cause(err)), "check the name and its permissions")
	}
	defer f.Close()
	return read(f)
}

// orDamaged returns err, or else the damaged readings that were left out.
func orDamaged(err error, damaged journal.DamagedReadings) error {
	if err == nil && len(damaged) > 0 {
		return damaged
	}
	return err
}

// printImported prints what an import did.
func printImported(p *terminal.Printer, got journal.Imported) {
	p.Wrap("", fmt.Sprintf("%s new", readings(got.Added)))
	if got.Same > 0 {
		p.Wrap("", fmt.Sprintf("%s there already, the same", readings(got.Same)))
	}
	if got.Raters > 0 {
		p.Wrap("", counted(got.Raters, "rater", "raters")+" new")
	}
	for _, c := range got.Conflicts {
		who := fmt.Sprintf("the rater %s", c.Who)
		if c.ID != 0 {
			who = fmt.Sprintf("reading %d of %s, %s", c.ID, c.Who, c.Day)
		}
		p.Wrap("left as it is: ", fmt.Sprintf("%s differs in %s", who, strings.Join(c.Differs, ", ")))
	}
}
