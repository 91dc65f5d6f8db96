package cli

import (
	"context"
	"fmt"
	"path/filepath"
	"time"

	"github.com/spf13/pflag"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
)

// journalName is what the journal is called in the data folder.
const journalName = "ecart.journal"

func addJournal(f *pflag.FlagSet, path *string) {
	f.StringVar(path, "journal", "", "the journal `FILE`; else "+journalName+" in ecart in your data folder (XDG_DATA_HOME, ~/.local/share)")
}

// journalPath is the file named, or the usual one.
func journalPath(given string) (string, error) {
	if given != "" {
		return filepath.Abs(given)
	}
	dir, err := dataDir("")
	if err != nil {
		return "", &inputError{err.Error(), "name the journal with --journal FILE"}
	}
	return filepath.Join(dir, journalName), nil
}

// openJournal opens the journal that --journal named, or the usual one.
func openJournal(given string, opt journal.Options) (*journal.Journal, error) {
	path, err := journalPath(given)
	if err != nil {
		return nil, err
	}
	return journal.Open(path, opt)
}

// changeReadings are the readings that the filter lets through, by athlete and
// day, as package change compares them: each with its density.
func changeReadings(ctx context.Context, j *journal.Journal, f journal.Filter) ([]change.Reading, error) {
	rows, err := j.List(ctx, f)
	if err != nil {
		return nil, err
	}
	out := make([]change.Reading, 0, len(rows))
	for i := range rows {
		e, err := j.Show(ctx, rows[i].ID)
		if err != nil {
			return nil, err
		}
		r, err := e.Parse()
		if err != nil {
			return nil, err
		}
		c := change.FromReading(r)
		if err := filed(&c, &rows[i]); err != nil {
			return nil, err
		}
		out = append(out, c)
	}
	return out, nil
}

// changeRows are the same from the list alone, which is quick for thousands:
// without their densities, so that each is taken to be normal.
func changeRows(rows []journal.Row) ([]change.Reading, error) {
	out := make([]change.Reading, len(rows))
	for i := range rows {
		r, c := &rows[i], &out[i]
		sources, err := r.Budget()
		if err != nil {
			return nil, err
		}
		*c = change.Reading{Measure: r.Measure, Definition: change.Definition(r.Lines), AngleDeg: r.AngleDeg, StandardDeg: r.StandardUncertaintyDeg,
			Sources: sources, AskedDeg: r.AskedDeg, AtMost: r.AtMost}
		if _, peak := sources[reading.SourceTiming]; !peak {
			m := reading.MissedIn(r.Take)
			c.Missed = [2]float64{m.LeastDeg, m.MostDeg}
		}
		if err := filed(c, r); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// filed fills in what the journal knows of a reading beside what it says.
func filed(c *change.Reading, r *journal.Row) error {
	day, err := time.Parse(time.DateOnly, r.Day)
	if err != nil {
		return fmt.Errorf("reading %d: %w", r.ID, err)
	}
	c.ID, c.Day, c.Session, c.Side, c.State, c.Condition = r.ID, day, r.Session, r.Side, r.State, r.Condition
	c.Athlete, c.Rater, c.Setup, c.Lens, c.Picture = r.Athlete, r.Rater, r.Setup, r.Lens, change.Picture(r.Take)
	return nil
}

// addFilter adds the flags that choose readings of the journal.
func addFilter(f *pflag.FlagSet, q *journal.Filter) {
	f.StringVar(&q.Athlete, "athlete", "", "those of the athlete `NAME`")
	f.StringVar(&q.Measure, "measure", "", "those of the measure `NAME`")
	f.StringVar(&q.Skill, "skill", "", "those compared with the skill `NAME`")
	f.StringVar(&q.Side, "side", "", "those of the `SIDE` left, right, front or back")
	f.StringVar(&q.State, "state", "", "those made in the `STATE` cold, warm, after or unknown")
	f.StringVar(&q.Condition, "condition", "", "those with the `CONDITION` passive, active, in-skill or unknown")
	f.StringVar(&q.From, "from", "", "those of takes made on the `DAY` such as 2026-03-21, or later")
	f.StringVar(&q.To, "to", "", "those of takes made on the `DAY`, or earlier")
}

// checkFilter refuses what no reading can be filed under.
func checkFilter(q journal.Filter) error {
	for _, c := range []struct {
		flag, value string
		choices     []string
	}{
		{"side", q.Side, []string{"left", "right", "front", "back"}},
		{"state", q.State, journal.States},
		{"condition", q.Condition, journal.Conditions},
		{"measure", q.Measure, measureNames()},
	} {
		if err := oneOf(c.flag, c.value, c.choices...); err != nil {
			return err
		}
	}
	for _, d := range []struct{ flag, value string }{{"from", q.From}, {"to", q.To}} {
		if _, err := parseDay(d.flag, d.value); err != nil {
			return err
		}
	}
	if q.From != "" && q.To != "" && q.From > q.To {
		return &inputError{fmt.Sprintf("--from %s is later than --to %s", q.From, q.To), "give the earlier day with --from"}
	}
	return nil
}

// parseDay reads a date such as 2026-03-21; nothing is the zero time.
func parseDay(flag, s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return t, &inputError{fmt.Sprintf("--%s %q is no date", flag, s), fmt.Sprintf("write it as year, month and day: --%s 2026-03-21", flag)}
	}
	return t, nil
}
