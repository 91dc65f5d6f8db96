package sheets

import (
	"context"
	"io"
	"time"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	command "ecart/cmd/internal/cli/record"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/record"
	"ecart/cmd/internal/sheet"
)

// sheetGroupOptions are what 'ecart sheet group' was asked with, as typed.
type sheetGroupOptions struct {
	command.ChangeOptions
	page sheetPage
	list string
}

func newSheetGroup(s terminal.Streams) *cobra.Command {
	o := sheetGroupOptions{ChangeOptions: command.ChangeOptions{Now: time.Now}}
	c := &cobra.Command{
		Use:   "group [LIST] --measure NAME",
		Short: "the change of a group: what 'ecart change --squad' or --all finds",
		Long: `Writes the change of a group on a page, from the readings of the journal, for a
head coach: the mean change, each athlete's, and who went which way. The group is
the athletes of a squad's LIST, or without one all athletes of the journal. With
--nameless the page has letters in place of names.`,
		Example: `  ecart sheet group monday.csv --measure hip-split --out group.html
  ecart sheet group --measure hip-split --nameless`,
		Args: flags.OptionalArg("list"),
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				o.list = args[0]
			}
			return sheetGroupRun(c.Context(), s, &o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.ChangeOptions.AddFlags(f)
	o.ChangeOptions.AddGroupFlags(f)
	o.page.addFlags(f)
	flags.AddJournal(f, &o.Journal)
	flags.AddRulesDir(f, &o.Rules)
	return c
}

func sheetGroupRun(ctx context.Context, s terminal.Streams, o *sheetGroupOptions) error {
	o.page.files.From(o.list)
	return o.page.ofAthlete(ctx, s, "group", string(sheet.Coach), o.Journal, func() (string, writesPage, error) {
		g, err := o.Group(ctx, record.Of(s.Desk(o.Journal, o.Rules)), o.list)
		if err != nil {
			return "", nil, err
		}
		in := record.GroupPage(g)
		return "", func(w io.Writer, opt sheet.Options) error { return sheet.WriteGroup(w, in, opt) }, nil
	})
}
