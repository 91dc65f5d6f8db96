package sheets

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/squad"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/sheet"
)

// sheetSessionOptions are the flags of 'ecart sheet session', as typed.
type sheetSessionOptions struct {
	flags.ReadOptions
	page     sheetPage
	list     string
	audience string
	who      string
}

func newSheetSession(s terminal.Streams) *cobra.Command {
	var o sheetSessionOptions
	c := &cobra.Command{
		Use:   "session LIST",
		Short: "a session of many athletes, or what one of them showed in it",
		Long: `Reads a LIST as 'ecart squad' does and writes the session on a page, for a coach.
For an athlete or a parent, where --for says so, it is what the one athlete named
with --who showed, in plain words; the others are not on the page.`,
		Example: `  ecart sheet session monday.csv --camera by-eye --out session.html
  ecart sheet session monday.csv --for parent --who Wren --out wren.html`,
		Args: flags.OneArg("list"),
		RunE: func(c *cobra.Command, args []string) error {
			o.list = args[0]
			return sheetSessionRun(c.Context(), s, &o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	addFor(f, &o.audience, sheet.Coach, "athlete or parent")
	f.StringVar(&o.who, "who", "", "the `NAME` in the list of the athlete whose page it is")
	o.page.addFlags(f)
	flags.AddDayStateCondition(f, &o.Keep)
	flags.AddReading(f, &o.ReadOptions)
	return c
}

func sheetSessionRun(ctx context.Context, s terminal.Streams, o *sheetSessionOptions) error {
	opt, err := o.page.options(o.audience, sheet.CoachAudiences)
	if err != nil {
		return err
	}
	one := strings.TrimSpace(o.who)
	switch {
	case opt.For == sheet.Coach && one != "":
		return fault.New("a coach's page of a session has everyone on it, and --who names one", "leave --who out, or give --for athlete or --for parent")
	case opt.For != sheet.Coach && one == "":
		return fault.New(fmt.Sprintf("the page of a session for the %s is of one athlete, and none was named", opt.For), "give --who NAME: the others are not on the page")
	}
	if err := o.page.writable(o.list, o.Priors, o.Lens); err != nil {
		return err
	}
	d := s.Desk("", o.Rules)
	list, err := d.OpenList(desk.ListAsk{Path: o.list, Ask: o.Ask, Filing: o.Keep.Filing, Door: terminal.ListDoor})
	if err != nil {
		return err
	}
	run := d.ReadList(ctx, list, squad.ListProgress(s))
	if ctx.Err() != nil {
		return ctx.Err()
	}
	r := list.Report(run)
	in, err := list.Page(r, one)
	if err != nil {
		return err
	}
	if err := o.page.write(ctx, s, o.page.written("squad", in.Who, opt), func(w io.Writer) error { return sheet.WriteSquad(w, in, opt) }); err != nil {
		return err
	}
	if one == "" {
		return squad.Outcome(r, false)
	}
	return nil
}
