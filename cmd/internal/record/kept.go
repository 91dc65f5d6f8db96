package record

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/session"
	"ecart/cmd/internal/text"
)

// KeptOne is a reading of the journal with how it is filed.
type KeptOne = session.Kept

// KeptRow is a reading of the journal as its list has it.
type KeptRow = journal.Row

// KeptWhole returns the readings of takes, given by their SHA-256, in the order of the takes, and of one
// take in the order in which they were kept. Damaged ones are left out. Without a journal there are none.
func (d *Record) KeptWhole(ctx context.Context, takes []string) (out []KeptOne, err error) {
	err = d.readJournal(nil, func(j *journal.Journal) error {
		byTake, err := keptByTake(ctx, j, takes)
		if err != nil {
			return err
		}
		for _, take := range takes {
			for _, row := range byTake[take] {
				e, err := j.Show(ctx, row.ID)
				if errors.As(err, new(*journal.Damaged)) {
					continue
				}
				if err != nil {
					return err
				}
				r, err := e.Parse()
				if err != nil {
					return err
				}
				out = append(out, KeptOne{ID: e.ID, Athlete: e.Athlete, Side: e.Side, Reading: r, Filing: session.Filing{Day: e.Day, Session: e.Session,
					State: stated(e.State), Condition: stated(e.Condition), Variant: e.Variant, Rater: e.Rater, Setup: e.Setup, Note: e.Note}})
			}
		}
		return nil
	})
	return out, err
}

// stated returns a state or a condition, "" if it is unknown.
func stated(s string) string {
	if s == journal.Unknown {
		return ""
	}
	return s
}

// KeptSession is the report of a session of which these readings were kept.
func KeptSession(kept []KeptOne) *session.Report {
	return session.Gather(kept, session.Options{Version: desk.Build(), Coverage: usualConfidence, Seed: usualSeed})
}

// KeptStandings is KeptSession without screens, which take time.
func KeptStandings(kept []KeptOne) *session.Report {
	return session.Gather(kept, session.Options{Version: desk.Build(), Coverage: usualConfidence, Seed: usualSeed, NoScreen: true})
}

// Names returns the athletes of the journal, by name; without a journal there are none.
func (d *Record) Names(ctx context.Context) (names []string, err error) {
	err = d.readJournal(nil, func(j *journal.Journal) error {
		list, err := j.Athletes(ctx)
		for _, a := range list {
			names = append(names, a.Name)
		}
		return err
	})
	return names, err
}

// SimilarName returns the first of names for which name may be a slip: "" if there is none, or if name is one
// of them.
func SimilarName(name string, names []string) string { return text.Alike(name, names) }

// NameKey is the same for two spellings of one name.
func NameKey(name string) string { return session.Key(name) }

// Standings says who is short of what is asked, who meets it and who is undecided, a sentence
// each; nothing where nothing is asked.
func Standings(r *session.Report) (says []string) {
	for _, g := range []struct {
		words string
		who   []session.Standing
	}{{"short of what is asked", r.Short}, {"meeting what is asked", r.Meets}, {"undecided", r.Undecided}} {
		if len(g.who) == 0 {
			continue
		}
		var names []string
		for _, one := range g.who {
			names = append(names, one.String())
		}
		says = append(says, fmt.Sprintf("%d %s: %s", len(names), g.words, strings.Join(names, ", ")))
	}
	return says
}

// Open is a reading that does not decide what is asked, or which band it is, and why.
type Open struct{ Who, Why string }

// OpenOf lists the readings that count and do not decide. help is the first advice of each, with the
// athletes that it would help.
func OpenOf(r *session.Report) (open []Open, help []string) {
	athletesOf := map[string][]string{}
	for i := range r.Athletes {
		a := &r.Athletes[i]
		for k := range a.Readings {
			one := a.Readings[k].Reading
			if one.Verdict == nil || one.Skill == nil || !a.Readings[k].Counts || len(one.Likely()) == 1 {
				continue
			}
			row := Open{Who: a.Athlete, Why: one.Says()[0]}
			if side := a.Readings[k].Side; side != "" {
				row.Who += ", " + side
			}
			open = append(open, row)
			if len(one.Advice) == 0 {
				continue
			}
			first := one.Advice[0]
			if athletesOf[first] == nil {
				help = append(help, first)
			}
			if !slices.Contains(athletesOf[first], a.Athlete) {
				athletesOf[first] = append(athletesOf[first], a.Athlete)
			}
		}
	}
	for i, first := range help {
		help[i] = strings.Join(athletesOf[first], ", ") + ": " + first
	}
	return open, help
}

// changeReadings returns the readings that match the filter, by athlete and day, in the form of package
// change, with their densities.
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
		if err := addFiling(&c, &rows[i]); err != nil {
			return nil, err
		}
		out = append(out, c)
	}
	return out, nil
}

// changeRows does the same from the list alone, which is quick for thousands. Without densities, each is
// taken to be normal.
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
		m, err := r.Moment()
		if err != nil {
			return nil, err
		}
		if _, peak := sources[reading.SourceTiming]; m == nil && !peak {
			m = reading.MissedIn(r.Take)
		}
		if m != nil {
			c.Missed = [2]float64{m.LeastDeg, m.MostDeg}
		}
		if err := addFiling(c, r); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// addFiling adds what the journal has about a reading beyond the reading itself.
func addFiling(c *change.Reading, r *journal.Row) error {
	day, err := time.Parse(time.DateOnly, r.Day)
	if err != nil {
		return fmt.Errorf("reading %d: %w", r.ID, err)
	}
	c.ID, c.Day, c.Session, c.Side, c.State, c.Condition, c.Variant = r.ID, day, r.Session, r.Side, r.State, r.Condition, r.Variant
	c.Athlete, c.Rater, c.Setup, c.Lens, c.Picture, c.Take, c.AtS = r.Athlete, r.Rater, r.Setup, r.Lens, change.Picture(r.Take), r.Take.SHA256, r.Take.TimeS
	return nil
}
