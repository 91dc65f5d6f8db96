package record

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/record"
)

func newJournalMove(s terminal.Streams, file *string) *cobra.Command {
	var q journal.Filter
	var numbers []string
	var keepTakes bool
	c := &cobra.Command{
		Use: "move (ATHLETE | --reading N) TO", Short: "file readings under another name",
		Long: `Files all readings of an athlete, or those named, under another name, which is
made if it is new: a name that was mistyped, two names that are one athlete, a
name to be exchanged for a pseudonym. The old name is wiped from the file once
nothing is filed under it. The takes are called by their content from then on,
since a file's name may have the athlete's; --keep-take-names leaves them. What
notes, sessions and set-ups say stays as it is.`,
		Example: "  ecart journal move Wrenn Wren\n  ecart journal move --reading 12,13 Wren",
		Args: func(c *cobra.Command, args []string) error {
			want, what := 2, "an athlete and a new name"
			if len(numbers) > 0 {
				want, what = 1, "a new name beside --reading"
			}
			if len(args) != want {
				return flags.Usage(c, fmt.Sprintf("'%s' takes %s, and %d were given: %q", c.CommandPath(), what, len(args), args))
			}
			return nil
		},
		RunE: func(c *cobra.Command, a []string) (err error) {
			if q.IDs, err = flags.ReadingNumbers(numbers); err != nil {
				return err
			}
			if len(numbers) == 0 {
				q.Athlete = a[0]
			}
			return journalMove(c.Context(), s, *file, q, a[len(a)-1], keepTakes)
		},
	}
	c.Flags().StringSliceVar(&numbers, "reading", nil, "the readings with the numbers `N,...`")
	c.Flags().BoolVar(&keepTakes, "keep-take-names", false, "leave the file names of the takes as they are")
	return c
}

func journalMove(ctx context.Context, s terminal.Streams, file string, q journal.Filter, to string, keepTakes bool) error {
	n, err := record.New(desk.New(desk.Options{Journal: file})).Move(ctx, q, to, keepTakes)
	if n > 0 { // even if traces of the old name could not be wiped yet
		fmt.Fprintln(s.Err, terminal.OneLine(fmt.Sprintf("%s filed under %s", readings(n), to)))
	}
	return err
}

func newJournalRelocate(s terminal.Streams, file *string) *cobra.Command {
	return &cobra.Command{
		Use: "relocate FILE", Short: "move the journal itself to another place",
		Long: `Moves the journal's file to another place, where nothing may be yet. From then on
it is named with --journal FILE. Copies that were made before the file's form
changed stay where they are.`,
		Example: "  ecart journal relocate /media/hall/hall.journal",
		Args:    flags.OneArg("new place"),
		RunE: func(c *cobra.Command, a []string) error {
			return inJournal(*file, journal.Options{}, func(j *journal.Journal) error {
				from := j.Path()
				err := j.Relocate(c.Context(), a[0])
				if j.Path() != from {
					fmt.Fprintln(s.Err, terminal.OneLine(fmt.Sprintf("the journal is at %q now; name it with --journal", j.Path())))
				}
				return err
			})
		},
	}
}

func newJournalErase(s terminal.Streams, file *string) *cobra.Command {
	var numbers []string
	var rater string
	var yes bool
	c := &cobra.Command{
		Use: "erase (ATHLETE | --reading N | --rater NAME)", Short: "take an athlete, readings, or a rater, out for good",
		Long: `Takes an athlete out of the journal wholly, or the readings named: out of the
file's free pages too, and out of the copies beside it that were made before its
form changed. What 'ecart squad' remembers of the same takes is forgotten too. It
asks first, and cannot be undone. --rater takes out somebody who marked: their
figure, and their name from every reading; the readings and their numbers stay.

Takes, pictures and exports that were saved elsewhere are not touched, nor are
the takes on the page's shelf.`,
		Example: "  ecart journal erase Wren\n  ecart journal erase --reading 12 --yes\n  ecart journal erase --rater Iris",
		Args: func(c *cobra.Command, args []string) error {
			if len(numbers) == 0 && rater == "" {
				return flags.OneArg("athlete")(c, args)
			}
			if len(args) > 0 || len(numbers) > 0 && rater != "" {
				return flags.Usage(c, fmt.Sprintf("'%s' takes an athlete, --reading or --rater, and more than one of them was given", c.CommandPath()))
			}
			return nil
		},
		RunE: func(c *cobra.Command, a []string) error {
			ids, err := flags.ReadingNumbers(numbers)
			if err != nil {
				return err
			}
			if rater != "" {
				return journalEraseRater(c.Context(), s, *file, rater, yes)
			}
			q := journal.Filter{IDs: ids}
			if len(a) > 0 {
				q.Athlete = a[0]
			}
			return journalErase(c.Context(), s, *file, q, yes)
		},
	}
	c.Flags().StringSliceVar(&numbers, "reading", nil, "the readings with the numbers `N,...`")
	c.Flags().StringVar(&rater, "rater", "", "whoever marked under the `NAME`")
	c.Flags().BoolVar(&yes, "yes", false, "do not ask")
	return c
}

func journalErase(ctx context.Context, s terminal.Streams, file string, q journal.Filter, yes bool) error {
	got, err := record.New(desk.New(desk.Options{Journal: file})).Erase(ctx, q, func(rows []journal.Row) error {
		if yes {
			return nil
		}
		return confirm(s, fmt.Sprintf("%s will be erased for good", ofWhom(rows)))
	})
	if got.Readings > 0 {
		text := "erased: " + readings(got.Readings)
		if n := len(got.BackUps); n > 0 {
			text += ", and out of " + counted(n, "copy", "copies") + " beside the journal"
		}
		fmt.Fprintln(s.Err, text)
	}
	return err
}

func journalEraseRater(ctx context.Context, s terminal.Streams, file, rater string, yes bool) error {
	return inJournal(file, journal.Options{}, func(j *journal.Journal) error {
		if !yes {
			if err := confirm(s, fmt.Sprintf("the rater %s will be erased for good", rater)); err != nil {
				return err
			}
		}
		got, err := j.EraseRater(ctx, rater)
		if err == nil || got.Readings > 0 {
			fmt.Fprintln(s.Err, terminal.OneLine(fmt.Sprintf("erased: the rater %s, who was named in %s", rater, readings(got.Readings))))
		}
		return err
	})
}

// ofWhom returns the number of readings and the names of a few of their athletes.
func ofWhom(rows []journal.Row) string {
	const most = 4
	var names []string
	for _, r := range rows {
		if n := len(names); n == 0 || names[n-1] != r.Athlete {
			names = append(names, r.Athlete)
		}
	}
	if n := len(names); n > most {
		names = append(names[:most], fmt.Sprintf("%d others", n-most))
	}
	return fmt.Sprintf("%s of %s", readings(len(rows)), strings.Join(names, ", "))
}

// confirm asks on the terminal. It returns an error unless the answer is yes, and without a
// terminal.
func confirm(s terminal.Streams, what string) error {
	if f, ok := s.In.(*os.File); !ok || !term.IsTerminal(int(f.Fd())) {
		return fault.New(what+", and nobody is there to be asked", "give --yes if that is meant")
	}
	fmt.Fprintf(s.Err, "%s; type yes to go on: ", terminal.OneLine(what))
	answer, err := bufio.NewReader(s.In).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	if strings.TrimSpace(answer) != "yes" {
		return fault.New("nothing was done, since the answer was not yes", "give the same command again, and type yes")
	}
	return nil
}
