package sheet

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"golang.org/x/text/language"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/reading"
)

// ScreensInput has the screens of a squad, in the order in which they are printed.
type ScreensInput struct {
	Title    string // of the movement
	List     string // its name
	Screens  []AthleteScreen
	Without  []string // who has no screen, and why
	Notes    []string
	Cautions []string
}

// AthleteScreen is the screen of one side of an athlete.
type AthleteScreen struct {
	Athlete, Side string
	Screen        *change.Screen
}

type screensPage struct {
	W       *screensWords
	Heads   []string
	Groups  []ScreensGroup
	Without []string
	Notes   []string
	Cares   []string
}

// ScreensGroup are the rows of one outcome.
type ScreensGroup struct {
	Title string       `json:"title"`
	Rows  []ScreensRow `json:"rows"`
}

// ScreensRow is the screen of one side of an athlete.
type ScreensRow struct {
	Who   string        `json:"who"`
	Side  string        `json:"side"`
	Day   string        `json:"day"`   // "" where all are of one day
	Cells []ScreensCell `json:"cells"` // the levels, then the gaps
	Says  []string      `json:"says"`
}

// ScreensCell is an angle, or a gap with the probability that there is one.
type ScreensCell struct {
	Deg   string `json:"deg"`
	There string `json:"there"`
	Shown bool   `json:"shown"`
}

// WriteScreens writes the screens of a squad: a row for each athlete's side, by outcome.
func WriteScreens(w io.Writer, in ScreensInput, opt Options) error {
	s, who, err := coachSetting(opt)
	if err != nil {
		return err
	}
	if who != Coach {
		return problem("make it for coach; "+fault.Operation("print a screen")+" has one athlete's page", "there is no page of a squad's screens for %q", string(who))
	}
	if len(in.Screens) == 0 {
		return problem("read at least two of passive, active and in-skill of an athlete on one day; "+fault.Operation("print the takes to make")+" is the list of takes", "there is no screen to put on a page")
	}
	t := &s.kind().screens
	p := screensPage{W: t}
	p.Heads, p.Groups = s.screensTable(in)
	oneDay := in.oneDay()
	p.Without = in.Without
	for _, n := range in.Notes {
		p.Notes = append(p.Notes, s.sentence(n))
	}
	for _, c := range in.Cautions {
		p.Cares = append(p.Cares, s.sentence(c))
	}
	facts := []string{in.List, s.askedOfAll(in)}
	if oneDay {
		facts = append(facts, s.dateOf(in.Screens[0].Screen.Day))
	}
	return s.writePage(w, "screens", in.Title, t.title, facts, p)
}

// oneDay reports whether all screens are of one day.
func (in *ScreensInput) oneDay() bool {
	return !slices.ContainsFunc(in.Screens, func(a AthleteScreen) bool { return !a.Screen.Day.Equal(in.Screens[0].Screen.Day) })
}

// ScreensTable returns the heads of the columns, after the name, and the rows of the sheet of a squad's screens in English.
func ScreensTable(in ScreensInput) (heads []string, groups []ScreensGroup, err error) {
	s, _, err := coachSetting(Options{For: Coach, Locale: language.English})
	if err != nil || len(in.Screens) == 0 {
		return nil, nil, err
	}
	heads, groups = s.screensTable(in)
	return heads, groups, nil
}

func (s *setting) screensTable(in ScreensInput) (heads []string, groups []ScreensGroup) {
	t := &s.kind().screens
	conditions, sizes := threeConditions, threeGaps
	if slices.ContainsFunc(in.Screens, func(a AthleteScreen) bool {
		return slices.ContainsFunc(a.Screen.Levels, func(l change.Level) bool { return l.Condition == movement.Swung })
	}) {
		conditions, sizes = append(slices.Clone(conditions), movement.Swung), append(slices.Clone(sizes), change.Swing)
	}
	oneDay := in.oneDay()
	for _, outcome := range change.Outcomes {
		g := ScreensGroup{Title: change.OutcomeWords[outcome]}
		for _, a := range in.Screens {
			if a.Screen.Outcome != outcome {
				continue
			}
			row := ScreensRow{Who: a.Athlete, Side: a.Side}
			if !oneDay {
				row.Day = a.Screen.Day.Format(time.DateOnly)
			}
			for _, c := range conditions {
				row.Cells = append(row.Cells, s.levelCell(a.Screen, c))
			}
			for _, name := range sizes {
				row.Cells = append(row.Cells, s.gapCell(a.Screen, name))
			}
			if a.Screen.Largest != "" {
				row.Says = append(row.Says, fmt.Sprintf(t.largest, a.Screen.Largest))
			}
			row.Says = append(row.Says, a.Screen.OpenWords()...)
			g.Rows = append(g.Rows, row)
		}
		if g.Rows != nil {
			groups = append(groups, g)
		}
	}
	return slices.Concat(conditions, sizes), groups
}

var (
	threeConditions = []string{movement.Passive, movement.Active, movement.InSkill}
	threeGaps       = []string{change.Range, change.Control, change.Use}
)

// levelCell is the angle of a condition; empty if it was not read.
func (s *setting) levelCell(k *change.Screen, condition string) ScreensCell {
	for i := range k.Levels {
		if l := &k.Levels[i]; l.Condition == condition {
			c := ScreensCell{Deg: s.noUnits(l.AngleDeg, halfWidth(l.IntervalDeg))}
			if l.AtLeast {
				c.Deg = "≥ " + c.Deg
			}
			return c
		}
	}
	return ScreensCell{}
}

// gapCell is a gap with the probability that there is one; empty if it is not known.
func (s *setting) gapCell(k *change.Screen, name string) ScreensCell {
	for i := range k.Gaps {
		if g := &k.Gaps[i]; g.Name == name {
			return ScreensCell{s.noUnits(g.Deg, halfWidth(g.IntervalDeg)), reading.Percent(g.RealProbability), g.Shown}
		}
	}
	return ScreensCell{}
}

// noUnits is a value with its expanded uncertainty for a column of degrees.
func (s *setting) noUnits(v, u float64) string {
	return strings.ReplaceAll(s.plusMinus(v, u), "°", "")
}

// askedOfAll words the angle asked; "" if it is not the same for all.
func (s *setting) askedOfAll(in ScreensInput) string {
	asked := in.Screens[0].Screen.AskedDeg
	for _, a := range in.Screens {
		if a.Screen.AskedDeg != asked {
			return ""
		}
	}
	return fmt.Sprintf(s.kind().screens.asked, s.number(asked, 0))
}

// TakesInput has the takes to make, to be ticked in the hall.
type TakesInput struct {
	Title, List string
	Day         time.Time
	Conditions  []TakesOf
	Notes       []string
	Cautions    []string
}

// TakesOf are the takes of one condition.
type TakesOf struct {
	Condition string
	Athletes  []TakesOfAthlete
}

// TakesOfAthlete are the takes of one athlete in one condition.
type TakesOfAthlete struct {
	Athlete string
	Sides   []TakesOfSide
}

// TakesOfSide is the number of takes to make of a side.
type TakesOfSide struct {
	Side  string
	Takes int
}

// Boxes has an entry for each take, for the template.
func (t TakesOfSide) Boxes() []struct{} { return make([]struct{}, t.Takes) }

type takesPage struct {
	W          *takesWords
	Conditions []TakesOf
	Notes      []string
	Cares      []string
}

// WriteTakes writes a list of takes with boxes to tick, one condition after the other.
func WriteTakes(w io.Writer, in TakesInput, opt Options) error {
	s, who, err := coachSetting(opt)
	if err != nil {
		return err
	}
	if who != Coach {
		return problem("make it for coach", "there is no list of takes for %q", string(who))
	}
	n := 0
	for _, c := range in.Conditions {
		for _, a := range c.Athletes {
			for _, side := range a.Sides {
				n += side.Takes
			}
		}
	}
	if n == 0 {
		return problem("see the screens: "+fault.Operation("print a squad's screens"), "no take is missing, and no further take would tell more")
	}
	t := &s.kind().takes
	p := takesPage{W: t, Conditions: in.Conditions}
	for _, note := range in.Notes {
		p.Notes = append(p.Notes, s.sentence(note))
	}
	for _, c := range in.Cautions {
		p.Cares = append(p.Cares, s.sentence(c))
	}
	count := t.one
	if n > 1 {
		count = fmt.Sprintf(t.count, n)
	}
	return s.writePage(w, "takes", in.Title, t.title, []string{in.List, s.dateOf(in.Day), count}, p)
}
