package sheets

import (
	"context"
	"io"
	"time"

	"ecart/cmd/internal/cli/flags"
	command "ecart/cmd/internal/cli/record"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/record"
	"ecart/cmd/internal/sheet"

	"github.com/spf13/cobra"
)

// sheetMonthsOptions are the flags of 'ecart sheet months', as typed.
type sheetMonthsOptions struct {
	command.ChangeOptions
	page     sheetPage
	audience string
}

func newSheetMonths(s terminal.Streams) *cobra.Command {
	o := sheetMonthsOptions{ChangeOptions: command.ChangeOptions{Now: time.Now}}
	c := &cobra.Command{
		Use:   "months ATHLETE --measure NAME",
		Short: "an athlete's months: what 'ecart change' finds",
		Long: `Writes an athlete's months on a page, from the readings of the journal: what
'ecart change' finds. It is for a coach, or in plain words for an athlete or a
parent where --for says so.`,
		Example: `  ecart sheet months Wren --measure hip-split --out months.html
  ecart sheet months Wren --measure hip-split --for parent --out wren.html`,
		Args: flags.OneArg("athlete"),
		RunE: func(c *cobra.Command, args []string) error {
			o.Filter.Athlete = args[0]
			return sheetMonthsRun(c.Context(), s, &o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	addFor(f, &o.audience, sheet.Coach, "athlete or parent")
	o.ChangeOptions.AddFlags(f)
	o.page.addFlags(f)
	flags.AddJournal(f, &o.Journal)
	flags.AddRulesDir(f, &o.Rules)
	return c
}

func sheetMonthsRun(ctx context.Context, s terminal.Streams, o *sheetMonthsOptions) error {
	return o.page.ofAthlete(ctx, s, "change", o.audience, o.Journal, func() (string, writesPage, error) {
		c, err := record.New(s.Desk(o.Journal, o.Rules)).Change(ctx, o.Ask())
		if err != nil {
			return "", nil, err
		}
		in := record.MonthsPage(c)
		return c.Athlete, func(w io.Writer, opt sheet.Options) error { return sheet.WriteMonths(w, in, opt) }, nil
	})
}

// sheetGroupOptions are the flags of 'ecart sheet group', as typed.
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
		g, err := o.Group(ctx, record.New(s.Desk(o.Journal, o.Rules)), o.list)
		if err != nil {
			return "", nil, err
		}
		in := record.GroupPage(g)
		return "", func(w io.Writer, opt sheet.Options) error { return sheet.WriteGroup(w, in, opt) }, nil
	})
}

// sheetPlanOptions are the flags of 'ecart sheet plan', as typed.
type sheetPlanOptions struct {
	command.PlanOptions
	page sheetPage
}

func newSheetPlan(s terminal.Streams) *cobra.Command {
	var o sheetPlanOptions
	c := &cobra.Command{
		Use:   "plan MEASURE --change DEG --by DAY",
		Short: "with which takes a change is found by a day: what 'ecart plan' prints",
		Long: `Writes on a page with which takes a change would be found by a day, for a coach: of
each set-up the smallest change that is found, by takes a day and the time between
days. What finds the change asked for is in bold, with a dot.`,
		Example: `  ecart sheet plan shoulder-flexion --change 5 --by 2027-03-01 --out plan.html
  ecart sheet plan hip-split --change 8 --by 2027-03-01 --athlete Wren`,
		Args: flags.OneArg("measure"),
		RunE: func(c *cobra.Command, args []string) error {
			o.Measure = args[0]
			return sheetPlanRun(c.Context(), s, &o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.AddFlags(f)
	o.page.addFlags(f)
	flags.AddJournal(f, &o.Journal)
	return c
}

func sheetPlanRun(ctx context.Context, s terminal.Streams, o *sheetPlanOptions) error {
	return o.page.ofAthlete(ctx, s, "plan", string(sheet.Coach), o.Journal, func() (string, writesPage, error) {
		p, err := o.Plan(ctx, s)
		if err != nil {
			return "", nil, err
		}
		in := record.PlanPage(p)
		return p.Athlete, func(w io.Writer, opt sheet.Options) error { return sheet.WritePlan(w, in, opt) }, nil
	})
}
