package record

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/session"
)

// SquadScreenSchema names the version of the JSON of a SquadScreen.
const SquadScreenSchema = "ecart/squad-screen/1"

// SquadScreen has the screens of the athletes of a list, and is its own JSON.
type SquadScreen struct {
	Schema   string           `json:"schema"`
	List     string           `json:"list"` // its name without .csv; "all athletes" for all
	Today    string           `json:"today"`
	Movement string           `json:"movement"`
	Measure  string           `json:"measure"`
	Title    string           `json:"title"`    // of the movement
	Athletes int              `json:"athletes"` // that are meant
	Screens  []AthleteScreen  `json:"screens"`  // what says the most of where degrees are missing comes first
	Without  []WithoutScreen  `json:"without_screen"`
	ToTake   []ConditionTakes `json:"to_take"`      // in the order of the hall
	NotByIt  []NotByTakes     `json:"not_by_takes"` // what more takes like these would not tell
	Cautions []string         `json:"cautions"`
	Notes    []string         `json:"notes"`
}

// AthleteScreen is the screen of one athlete's side on its last day with two conditions.
type AthleteScreen struct {
	Athlete string `json:"athlete"`
	SideScreen
}

// WithoutScreen says why an athlete's side has no screen.
type WithoutScreen struct {
	Athlete string `json:"athlete"`
	Side    string `json:"side,omitempty"`
	Why     string `json:"why"`
}

// SquadScreenAsk is what the screens of a squad are asked with.
type SquadScreenAsk struct {
	Squad     Squad
	ScreenAsk      // names no athlete
	ToTake    bool // the takes to make are asked for: before the first reading there are such too
}

// SquadScreenOf is SquadScreen of a movement, each side's last day and what is asked, with defaults for the rest.
func (d *Record) SquadScreenOf(ctx context.Context, squad Squad, a ScreenAsk, toTake bool) (*SquadScreen, error) {
	a.Confidence, a.Seed = usualConfidence, usualSeed
	return d.SquadScreen(ctx, SquadScreenAsk{Squad: squad, ScreenAsk: a, ToTake: toTake})
}

// SquadScreen works out the screens of the athletes of a squad, from their readings in the journal.
func (d *Record) SquadScreen(ctx context.Context, a SquadScreenAsk) (*SquadScreen, error) {
	m, q, opt, err := d.screenAsked(a.ScreenAsk)
	if err != nil {
		return nil, err
	}
	var rows []journal.Row
	var damaged journal.DamagedReadings
	j, noJournal := d.OpenJournal(journal.Options{Read: true})
	switch {
	case noJournal == nil:
		defer j.Close()
		if rows, damaged, err = sound(j.List(ctx, q)); err != nil {
			return nil, err
		}
	case a.Squad.all() || !a.ToTake || !errors.Is(noJournal, journal.ErrAbsent):
		return nil, noJournal
	}
	names := a.Squad.names(rows)
	if len(names) == 0 {
		return nil, fault.New("the journal has no reading of "+m.Measure, "name the athletes in a list, or read and keep takes first")
	}
	out := &SquadScreen{Schema: SquadScreenSchema, List: cmp.Or(a.Squad.Name, allAthletes), Today: d.Now().Format(time.DateOnly),
		Movement: m.Name, Measure: m.Measure, Title: m.Title, Athletes: len(names),
		Screens: []AthleteScreen{}, Without: []WithoutScreen{}, ToTake: []ConditionTakes{}, NotByIt: []NotByTakes{}, Notes: []string{}}
	if noJournal != nil {
		out.Notes = append(out.Notes, noJournal.Error())
	}
	if len(damaged) > 0 {
		out.Notes = append(out.Notes, desk.Count(len(damaged), "reading")+" of the journal damaged, and left out")
	}
	rows = slices.DeleteFunc(rows, func(r journal.Row) bool { return r.Variant != m.Variant })
	if ahead := slices.DeleteFunc(slices.Clone(rows), func(r journal.Row) bool { return r.Day <= out.Today }); len(ahead) > 0 {
		out.Notes = append(out.Notes, noteAhead(ahead, out.Today))
		rows = slices.DeleteFunc(rows, func(r journal.Row) bool { return r.Day > out.Today })
	}
	takes := takePlan{today: out.Today}
	var unasked error // of the last side with two conditions that has no screen
	for _, name := range names {
		of := slices.DeleteFunc(slices.Clone(rows), func(r journal.Row) bool { return session.Key(r.Athlete) != session.Key(name) })
		if len(of) > 0 {
			name = of[0].Athlete
		}
		for _, side := range sidesToScreen(m, of, a.Side) {
			there := slices.DeleteFunc(slices.Clone(of), func(r journal.Row) bool { return r.Side != side })
			s, err := d.sideScreen(ctx, j, m, there, opt)
			switch {
			case err != nil && !isInput(err):
				return nil, err
			case err != nil:
				unasked = err
				out.Without = append(out.Without, WithoutScreen{name, side, err.Error()})
				continue // its takes are there: what is missing is what is asked
			case s == nil:
				out.Without = append(out.Without, WithoutScreen{name, side, tooFewWords(there)})
			default:
				out.Screens = append(out.Screens, AthleteScreen{name, *s})
				for _, c := range s.Cautions {
					if !slices.Contains(out.Cautions, c) {
						out.Cautions = append(out.Cautions, c)
					}
				}
			}
			takes.add(name, side, there, s)
		}
	}
	if len(out.Screens) == 0 && unasked != nil {
		return nil, unasked
	}
	if out.Cautions == nil {
		out.Cautions = []string{cautionMeasures, cautionPain}
	}
	out.Without = oneOfBothSides(out.Without)
	slices.SortStableFunc(out.Screens, func(a, b AthleteScreen) int { return compareScreens(a.Screen, b.Screen) })
	out.ToTake, out.NotByIt = takes.inHall(), takes.notByIt
	if takes.anew {
		out.Notes = append(out.Notes, noteAnew)
	}
	return out, nil
}

// allAthletes stands in place of a list's name.
const allAthletes = "all athletes"

const noteAnew = "a screen compares takes of one day: of a day that is past, all conditions are taken again"

// isInput reports whether the error is of what was given, and not of work that failed.
func isInput(err error) bool {
	var f *fault.Error
	return errors.As(err, &f) && !f.Failed()
}

// sideScreen is the screen of one side of an athlete, nil where no day has two conditions.
func (d *Record) sideScreen(ctx context.Context, j *journal.Journal, m movement.Movement, rows []journal.Row, opt change.ScreenOptions) (*SideScreen, error) {
	if latestScreen(rows) == "" {
		return nil, nil
	}
	r, err := d.screenOfRows(ctx, j, m, rows, opt)
	if err != nil {
		return nil, err
	}
	return &r.Screens[0], nil
}

// sidesToScreen are the sides of a movement of which an athlete is screened: the one asked for,
// else both of a pair of which one was read, and left and right where none was.
func sidesToScreen(m movement.Movement, rows []journal.Row, asked string) []string {
	if asked != "" {
		return []string{asked}
	}
	there := distinct(rows, func(r *journal.Row) string { return r.Side })
	if m.Both || slices.Equal(there, []string{""}) {
		if len(there) == 0 {
			return []string{""}
		}
		return there
	}
	var sides []string
	for _, pair := range [][]string{{"left", "right"}, {"front", "back"}} {
		if slices.ContainsFunc(pair, func(s string) bool { return slices.Contains(there, s) }) {
			sides = append(sides, pair...)
		}
	}
	if sides == nil {
		sides = []string{"left", "right"}
	}
	return sides
}

// tooFewWords say what there is of a side that has no day with two conditions.
func tooFewWords(rows []journal.Row) string {
	if len(rows) == 0 {
		return "no reading"
	}
	last := rows[0].Day
	for i := range rows {
		last = max(last, rows[i].Day)
	}
	rows = slices.DeleteFunc(slices.Clone(rows), func(r journal.Row) bool { return r.Day != last })
	conditions := distinct(rows, func(r *journal.Row) string { return r.Condition })
	day := last
	if t, err := time.Parse(time.DateOnly, last); err == nil {
		day = desk.DateWords(t)
	}
	return "only " + strings.Join(conditions, ", ") + " on " + day
}

// oneOfBothSides puts the two sides of an athlete into one where the same is said of both.
func oneOfBothSides(all []WithoutScreen) (out []WithoutScreen) {
	out = []WithoutScreen{}
	for _, w := range all {
		if n := len(out) - 1; n >= 0 && out[n].Athlete == w.Athlete && out[n].Why == w.Why {
			out[n].Side = ""
			continue
		}
		out = append(out, w)
	}
	return out
}

// compareScreens orders screens by what can be said: shown gaps first, those of which the largest
// is known before the others, then the larger; then the undecided, those first that the fewest
// takes would tell; last where nothing is missing.
func compareScreens(a, b *change.Screen) int {
	if c := cmp.Compare(slices.Index(change.Outcomes, a.Outcome), slices.Index(change.Outcomes, b.Outcome)); c != 0 {
		return c
	}
	switch a.Outcome {
	case change.OutcomeShown:
		if known := a.Largest != ""; known != (b.Largest != "") {
			if known {
				return -1
			}
			return 1
		}
		return cmp.Compare(b.LargestShown().Deg, a.LargestShown().Deg)
	case change.OutcomeUndecided:
		return cmp.Compare(fewestTakes(a), fewestTakes(b))
	}
	return 0
}

// fewestTakes is how many more takes would tell something of an undecided screen, and a number
// beyond all others where none would.
func fewestTakes(s *change.Screen) int {
	if open := s.OpenQuestions(); len(open) > 0 && open[0].Takes > 0 {
		return open[0].Takes
	}
	return 1 << 10
}

// Sided is an athlete with the side, if one was said.
func Sided(athlete, side string) string {
	if side == "" {
		return athlete
	}
	return athlete + ", " + side
}
