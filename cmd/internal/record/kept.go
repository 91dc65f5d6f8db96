package record

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/session"
	"ecart/cmd/internal/sheet"
	"ecart/cmd/internal/text"
)

// KeptOne is a reading of the journal with how it is filed.
type KeptOne = session.Kept

// KeptRow is a reading of the journal as its list has it.
type KeptRow = journal.Row

// KeptWhole are the readings of takes, given by their SHA-256: in the order of the takes, those
// of one take as they were kept. Damaged ones are left out. There are none where there is no
// journal.
func (d *Record) KeptWhole(ctx context.Context, takes []string) (out []KeptOne, err error) {
	err = d.ifThere(nil, func(j *journal.Journal) error {
		of, err := ofTakes(ctx, j, takes)
		if err != nil {
			return err
		}
		for _, take := range takes {
			for _, row := range of[take] {
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

// stated is a state or a condition as people say it: "" where nobody did.
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

// KeptPage is what the page of such a session shows.
func KeptPage(r *session.Report) (sheet.SquadInput, error) {
	if r.Read == 0 {
		return sheet.SquadInput{}, fault.New("no reading of the session was kept", "keep one, then make the sheet")
	}
	return desk.SessionPage(r), nil
}

// Names are the athletes of the journal, by name; nobody where there is no journal yet.
func (d *Record) Names(ctx context.Context) (names []string, err error) {
	err = d.ifThere(nil, func(j *journal.Journal) error {
		list, err := j.Athletes(ctx)
		for _, a := range list {
			names = append(names, a.Name)
		}
		return err
	})
	return names, err
}

// LikeName is the first of names that name may have been meant for: "" where there is none, or
// where name is one of them.
func LikeName(name string, names []string) string { return text.Alike(name, names) }

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

// OpenOf lists the readings that count and do not decide; help are the first things that would
// help them, each with the athletes it would help.
func OpenOf(r *session.Report) (open []Open, help []string) {
	whom := map[string][]string{}
	for i := range r.Athletes {
		a := &r.Athletes[i]
		for k := range a.Readings {
			one := a.Readings[k].Reading
			if one.Verdict == nil || one.Skill == nil || !a.Readings[k].Counts || len(one.Likely()) == 1 {
				continue
			}
			u := Open{Who: a.Athlete, Why: one.Says()[0]}
			if side := a.Readings[k].Side; side != "" {
				u.Who += ", " + side
			}
			open = append(open, u)
			if len(one.Advice) == 0 {
				continue
			}
			first := one.Advice[0]
			if whom[first] == nil {
				help = append(help, first)
			}
			if !slices.Contains(whom[first], a.Athlete) {
				whom[first] = append(whom[first], a.Athlete)
			}
		}
	}
	for i, first := range help {
		help[i] = strings.Join(whom[first], ", ") + ": " + first
	}
	return open, help
}
