package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
)

func newJournalRecompute(s streams, file *string) *cobra.Command {
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
		Args:    noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return journalRecompute(c.Context(), s, *file, q, write, asJSON)
		},
	}
	c.Flags().SortFlags = false
	c.Flags().BoolVar(&write, "write", false, "put the new readings in place of those that changed")
	c.Flags().BoolVar(&asJSON, "json", false, "print what changed as JSON")
	addFilter(c.Flags(), &q)
	return c
}

// recomputed is what came of making readings again.
type recomputed struct {
	Readings int      `json:"readings"`
	Same     int      `json:"same"`
	Replaced int      `json:"replaced"` // of those that changed
	Changed  []remade `json:"changed"`
	Failed   []remade `json:"failed"`
}

// remade is one reading that is not as it was.
type remade struct {
	ID      int64     `json:"reading"`
	Athlete string    `json:"athlete"`
	Day     string    `json:"day"`
	Changes []figures `json:"changes,omitempty"`
	Why     string    `json:"why,omitempty"` // it could not be made, or differs
	Do      string    `json:"do,omitempty"`
}

// figures is a number before and after; nil where there was none.
type figures struct {
	Name   string   `json:"figure"`
	Before *float64 `json:"before"`
	After  *float64 `json:"after"`
}

func journalRecompute(ctx context.Context, s streams, file string, q journal.Filter, write, asJSON bool) error {
	if err := checkFilter(q); err != nil {
		return err
	}
	return inJournal(file, journal.Options{Read: !write}, func(j *journal.Journal) error {
		rows, err := j.List(ctx, q)
		var damaged journal.DamagedReadings // which recompute names
		if err != nil && !errors.As(err, &damaged) {
			return err
		}
		all := len(rows) + len(damaged)
		if damaged.Torn() != nil {
			all--
		}
		out := recomputed{Changed: []remade{}, Failed: []remade{}}
		stopped := out.run(ctx, s, j, q, all, write)
		if stopped != nil && ctx.Err() == nil {
			return stopped
		}
		if asJSON {
			err = printJSON(s.out, out)
		} else {
			var p printer
			p.recomputed(&out)
			_, err = io.WriteString(s.out, p.b.String())
		}
		switch {
		case err != nil:
			return err
		case stopped != nil:
			return &halted{fmt.Sprintf("stopped after %d of %s; %d were replaced and stay so", out.Readings, readings(all), out.Replaced), "give the same command again to start over"}
		case len(out.Failed) > 0:
			return &failure{fact: fmt.Sprintf("%d of %s could not be made again", len(out.Failed), readings(out.Readings)), hint: "each is named above with its reason; they stay as they are"}
		}
		return damaged.Torn()
	})
}

// run makes the readings again, one after the other.
func (out *recomputed) run(ctx context.Context, s streams, j *journal.Journal, q journal.Filter, all int, write bool) error {
	done := func() {}
	defer func() { done() }()
	again := func(e *journal.Entry) (*reading.Reading, error) {
		done()
		done = s.working(fmt.Sprintf("making reading %d again, %d of %d", e.ID, out.Readings+1, all))
		return remake(e)
	}
	for m, err := range j.Recompute(ctx, q, again) {
		if err != nil {
			return err
		}
		out.Readings++
		one := remade{ID: m.Entry.ID, Athlete: m.Entry.Athlete, Day: m.Entry.Day}
		switch {
		case m.Err != nil:
			one.Why, one.Do = wordsOf(m.Err)
			out.Failed = append(out.Failed, one)
		case len(m.Changes) == 0:
			out.Same++
		default:
			for _, f := range m.Changes {
				one.Changes = append(one.Changes, figures{f.Name, figureOf(f.Before), figureOf(f.After)})
			}
			if slices.Contains(m.After.Notes, reading.FoundNotSaid) && !slices.Contains(m.Before.Notes, reading.FoundNotSaid) {
				one.Why = "how its landmarks were found was not asked when it was kept: made again, they count as seen, not felt for"
			}
			out.Changed = append(out.Changed, one)
			if !write {
				continue
			}
			if err := j.Replace(ctx, m.Entry.ID, m.After, version()); err != nil {
				return err
			}
			out.Replaced++
		}
	}
	return nil
}

// figureOf is nil where there is none.
func figureOf(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return &v
}

// recomputed says what came of it: of each reading the figures that people look at,
// and how many others there are.
func (p *printer) recomputed(out *recomputed) {
	const most = 3
	for _, r := range out.Changed {
		p.wrap("", fmt.Sprintf("reading %d of %s, %s", r.ID, r.Athlete, r.Day))
		if r.Why != "" {
			p.wrap("  ", r.Why)
		}
		for _, f := range r.Changes[:min(most, len(r.Changes))] {
			p.wrap("  ", fmt.Sprintf("%s %s, was %s", f.Name, shown(f.After), shown(f.Before)))
		}
		if n := len(r.Changes) - most; n > 0 {
			p.wrap("  ", fmt.Sprintf("and %s, which --json has", counted(n, "other figure", "other figures")))
		}
	}
	for _, r := range out.Failed {
		p.wrap("", fmt.Sprintf("reading %d of %s, %s: not made", r.ID, r.Athlete, r.Day))
		p.wrap("  ", r.Why)
		p.wrap("  ", r.Do)
	}
	p.wrap("", readings(out.Readings)+" made again:")
	p.wrap("  ", fmt.Sprintf("%d the same, %d changed, %d failed", out.Same, len(out.Changed), len(out.Failed)))
	switch {
	case out.Replaced > 0:
		p.wrap("", readings(out.Replaced)+" replaced")
	case len(out.Changed) > 0:
		p.wrap("", "nothing was written; --write does")
	}
}

func shown(v *float64) string {
	if v == nil {
		return "none"
	}
	return strconv.FormatFloat(*v, 'g', 8, 64)
}
