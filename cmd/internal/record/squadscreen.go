package record

import (
	"cmp"
	"context"
	"errors"
	"path/filepath"
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
	Athletes int              `json:"athletes"` // number of those named, or of all
	Screens  []AthleteScreen  `json:"screens"`  // ordered by compareScreens
	Without  []WithoutScreen  `json:"without_screen"`
	ToTake   []ConditionTakes `json:"to_take"`      // in the order of the protocol cards
	NotByIt  []NotByTakes     `json:"not_by_takes"` // what more takes like these would not decide
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

// SquadScreenAsk is the input of [Record.SquadScreen].
type SquadScreenAsk struct {
	Squad     Squad
	ScreenAsk      // names no athlete
	ToTake    bool // the takes to make are asked for; there are such also before the first reading
}

// SquadScreenOf is SquadScreen with the usual confidence and seed.
func (d *Record) SquadScreenOf(ctx context.Context, squad Squad, a ScreenAsk, toTake bool) (*SquadScreen, error) {
	a.Confidence, a.Seed = usualConfidence, usualSeed
	return d.SquadScreen(ctx, SquadScreenAsk{Squad: squad, ScreenAsk: a, ToTake: toTake})
}

// SquadScreen computes the screens of the athletes of a squad, from their readings in the journal.
func (d *Record) SquadScreen(ctx context.Context, a SquadScreenAsk) (*SquadScreen, error) {
	m, q, opt, err := d.screenAsked(a.ScreenAsk)
	if err != nil {
		return nil, err
	}
	var rows []journal.Row
	var damaged journal.DamagedReadings
	j, journalErr := d.OpenJournal(journal.Options{Read: true})
	switch {
	case journalErr == nil:
		defer j.Close()
		if rows, damaged, err = splitDamaged(j.List(ctx, q)); err != nil {
			return nil, err
		}
	case a.Squad.all() || !a.ToTake || !errors.Is(journalErr, journal.ErrAbsent):
		return nil, journalErr
	}
	names := a.Squad.names(rows)
	if len(names) == 0 {
		return nil, fault.New("the journal has no reading of "+m.Measure, "name the athletes in a list, or read and keep takes first")
	}
	out := &SquadScreen{Schema: SquadScreenSchema, List: cmp.Or(a.Squad.Name, allAthletes), Today: d.Now().Format(time.DateOnly),
		Movement: m.Name, Measure: m.Measure, Title: m.Title, Athletes: len(names),
		Screens: []AthleteScreen{}, Without: []WithoutScreen{}, ToTake: []ConditionTakes{}, NotByIt: []NotByTakes{}, Notes: []string{}}
	if journalErr != nil {
		out.Notes = append(out.Notes, journalErr.Error())
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
	var screenErr error // of the last side with two conditions that has no screen
	for _, name := range names {
		athleteRows := slices.DeleteFunc(slices.Clone(rows), func(r journal.Row) bool { return session.Key(r.Athlete) != session.Key(name) })
		if len(athleteRows) > 0 {
			name = athleteRows[0].Athlete
		}
		for _, side := range sidesToScreen(m, athleteRows, a.Side) {
			sideRows := slices.DeleteFunc(slices.Clone(athleteRows), func(r journal.Row) bool { return r.Side != side })
			s, err := d.sideScreen(ctx, j, m, sideRows, opt)
			switch {
			case err != nil && !isInput(err):
				return nil, err
			case err != nil:
				screenErr = err
				out.Without = append(out.Without, WithoutScreen{name, side, err.Error()})
				continue // its takes are there: what is missing is what is asked
			case s == nil:
				out.Without = append(out.Without, WithoutScreen{name, side, tooFewWords(sideRows)})
			default:
				out.Screens = append(out.Screens, AthleteScreen{name, *s})
				for _, c := range s.Cautions {
					if !slices.Contains(out.Cautions, c) {
						out.Cautions = append(out.Cautions, c)
					}
				}
			}
			takes.add(name, side, sideRows, s)
		}
	}
	if len(out.Screens) == 0 && screenErr != nil {
		return nil, screenErr
	}
	if out.Cautions == nil {
		out.Cautions = []string{cautionMeasures, cautionPain}
	}
	out.Without = oneOfBothSides(out.Without)
	slices.SortStableFunc(out.Screens, func(a, b AthleteScreen) int { return compareScreens(a.Screen, b.Screen) })
	out.ToTake, out.NotByIt = takes.inHall(), takes.notByIt
	if takes.retake {
		out.Notes = append(out.Notes, noteRetake)
	}
	return out, nil
}

// allAthletes stands in place of a list's name.
const allAthletes = "all athletes"

const noteRetake = "a screen compares takes of one day: of a day that is past, all conditions are taken again"

// isInput reports whether the error is a fault of the input, and not of work that failed.
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

// sidesToScreen returns the sides to screen: the one asked for, else both of a pair of which one was read,
// or left and right if none was. If both sides move together, or no side was said, they are those read.
func sidesToScreen(m movement.Movement, rows []journal.Row, asked string) []string {
	if asked != "" {
		return []string{asked}
	}
	existing := distinct(rows, func(r *journal.Row) string { return r.Side })
	if m.Both || slices.Equal(existing, []string{""}) {
		if len(existing) == 0 {
			return []string{""}
		}
		return existing
	}
	var sides []string
	for _, pair := range [][]string{{"left", "right"}, {"front", "back"}} {
		if slices.ContainsFunc(pair, func(s string) bool { return slices.Contains(existing, s) }) {
			sides = append(sides, pair...)
		}
	}
	if sides == nil {
		sides = []string{"left", "right"}
	}
	return sides
}

// tooFewWords says what there is of a side that has no day with two conditions.
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

// oneOfBothSides merges the rows of an athlete's two sides if they say the same.
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

// compareScreens orders screens:
//
//	gap shown        the largest gap known before not known, then the larger gap first
//	undecided        the fewest takes to decide first
//	nothing missing
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

// fewestTakes is the number of further takes that would decide something of an undecided screen, or a
// number above all others if none would.
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

// Squad says which athletes are meant: those of a list, or all in the journal.
type Squad struct {
	Name  string   // of the list, without .csv; "" for all
	Names []string // nil for all
}

// SquadOf returns the athletes of the list in a file, each once; all for "".
func SquadOf(path string) (Squad, error) {
	if path == "" {
		return Squad{}, nil
	}
	data, err := desk.ReadSmall("list", path)
	if err != nil {
		return Squad{}, err
	}
	return SquadIn(path, data)
}

// SquadIn returns the athletes of a list, each once. name is that of its file.
func SquadIn(name string, data []byte) (Squad, error) {
	names, err := session.Names(name, data)
	return Squad{strings.TrimSuffix(filepath.Base(name), ".csv"), names}, err
}

// all reports whether all in the journal are meant.
func (s *Squad) all() bool { return s.Names == nil }

// names returns the athletes meant: for all, those of the rows, by name.
func (s *Squad) names(rows []journal.Row) []string {
	if !s.all() {
		return s.Names
	}
	names := distinct(rows, func(r *journal.Row) string { return r.Athlete })
	slices.SortFunc(names, func(a, b string) int { return strings.Compare(session.Key(a), session.Key(b)) })
	return names
}
