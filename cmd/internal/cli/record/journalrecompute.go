package record

import (
	"context"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
)

func newJournalRecompute(s terminal.Streams, file *string) *cobra.Command {
	var q journal.Filter
	var write, asJSON bool
	c := &cobra.Command{
		Use: "recompute", Short: "make the readings again, and list what changed",
		Long: `Makes each reading again from what was kept of it (the marks, the camera, the
lens, the rule, the figures taken for granted if they were your own), with this
version of ecart, and lists what changed. The take is not needed. Nothing in the
journal changes; with --write the new readings take the place of the old, and
what each said before is kept beside it.`,
		Example: "  ecart journal recompute\n  ecart journal recompute --athlete Wren --write",
		Args:    flags.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return journalRecompute(c.Context(), s, *file, q, write, asJSON)
		},
	}
	c.Flags().SortFlags = false
	c.Flags().BoolVar(&write, "write", false, "put the new readings in place of those that changed")
	c.Flags().BoolVar(&asJSON, "json", false, "print what changed as JSON")
	flags.AddFilter(c.Flags(), &q)
	return c
}

func journalRecompute(ctx context.Context, s terminal.Streams, file string, q journal.Filter, write, asJSON bool) error {
	out, stopped := s.Desk(file, "").Recompute(ctx, q, write, terminal.Door)
	if stopped != nil && ctx.Err() == nil {
		return stopped
	}
	var err error
	if asJSON {
		err = terminal.PrintJSON(s.Out, out)
	} else {
		var p terminal.Printer
		printRecomputed(&p, out)
		err = p.Print(s.Out)
	}
	switch {
	case err != nil:
		return err
	case stopped != nil:
		return fault.Stopped(fmt.Sprintf("stopped after %d of %s; %d were replaced and stay so", out.Readings, readings(out.All), out.Replaced), "give the same command again to start over")
	case len(out.Failed) > 0:
		return fault.Failed(fmt.Sprintf("%d of %s could not be made again", len(out.Failed), readings(out.Readings)), "each is named above with its reason; they stay as they are", nil)
	}
	return out.Torn
}

// printRecomputed prints the outcome: for each reading the main figures that changed, and the
// number of others.
func printRecomputed(p *terminal.Printer, out *desk.Recomputed) {
	const most = 3
	for _, r := range out.Changed {
		p.Wrap("", fmt.Sprintf("reading %d of %s, %s", r.ID, r.Athlete, r.Day))
		if r.Why != "" {
			p.Wrap("  ", r.Why)
		}
		for _, f := range r.Changes[:min(most, len(r.Changes))] {
			p.Wrap("  ", fmt.Sprintf("%s %s, was %s", f.Name, shown(f.After), shown(f.Before)))
		}
		if n := len(r.Changes) - most; n > 0 {
			p.Wrap("  ", fmt.Sprintf("and %s, which --json has", counted(n, "other figure", "other figures")))
		}
	}
	for _, r := range out.Failed {
		p.Wrap("", fmt.Sprintf("reading %d of %s, %s: not made", r.ID, r.Athlete, r.Day))
		p.Wrap("  ", r.Why)
		p.Wrap("  ", r.Do)
	}
	p.Wrap("", readings(out.Readings)+" made again:")
	p.Wrap("  ", fmt.Sprintf("%d the same, %d changed, %d failed", out.Same, len(out.Changed), len(out.Failed)))
	switch {
	case out.Replaced > 0:
		p.Wrap("", readings(out.Replaced)+" replaced")
	case len(out.Changed) > 0:
		p.Wrap("", "nothing was written; --write does")
	}
}

func shown(v *float64) string {
	if v == nil {
		return "none"
	}
	return strconv.FormatFloat(*v, 'g', 8, 64)
}
