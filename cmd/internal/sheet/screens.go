package sheet

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/movement"
	"ecart/cmd/internal/reading"
)

// ScreensInput are the screens of a squad, in the order in which they are printed.
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
	Groups  []screensGroup
	Without []string
	Notes   []string
	Cares   []string
}

type screensGroup struct {
	Title string
	Rows  []screensRow
}

type screensRow struct {
	Who, Side, Day string
	Cells          []screensCell // the levels, then the gaps
	Says           []string
}

type screensCell struct {
	Deg, There string
	Shown      bool
}

// WriteScreens writes the screens of a squad: a row for each athlete's side, those first that say
// the most.
func WriteScreens(w io.Writer, in ScreensInput, opt Options) error {
	s, who, err := coachSetting(opt)
	if err != nil {
		return err
	}
	if who != Coach {
		return problem("make it for coach; 'ecart sheet screen' has one athlete's page", "there is no page of a squad's screens for %q", string(who))
	}
	if len(in.Screens) == 0 {
		return problem("read at least two of passive, active and in-skill of an athlete on one day; 'ecart sheet screens LIST --to-take' is the list of takes", "there is no screen to put on a page")
	}
	t := &s.kind().screens
	p := screensPage{W: t}
	conditions, gaps := threeConditions, threeGaps
	if slices.ContainsFunc(in.Screens, func(a AthleteScreen) bool {
		return slices.ContainsFunc(a.Screen.Levels, func(l change.Level) bool { return l.Condition == movement.Swung })
	}) {
		conditions, gaps = append(slices.Clone(conditions), movement.Swung), append(slices.Clone(gaps), change.Swing)
	}
	p.Heads = slices.Concat(conditions, gaps)
	oneDay := !slices.ContainsFunc(in.Screens, func(a AthleteScreen) bool { return !a.Screen.Day.Equal(in.Screens[0].Screen.Day) })
	for _, outcome := range change.Outcomes {
		g := screensGroup{Title: change.OutcomeWords[outcome]}
		for _, a := range in.Screens {
			if a.Screen.Outcome != outcome {
				continue
			}
			row := screensRow{Who: a.Athlete, Side: a.Side}
			if !oneDay {
				row.Day = a.Screen.Day.Format(time.DateOnly)
			}
			for _, c := range conditions {
				row.Cells = append(row.Cells, s.levelCell(a.Screen, c))
			}
			for _, name := range gaps {
				row.Cells = append(row.Cells, s.gapCell(a.Screen, name))
			}
			if a.Screen.Largest != "" {
				row.Says = append(row.Says, fmt.Sprintf(t.largest, a.Screen.Largest))
			}
			for _, q := range a.Screen.OpenQuestions() {
				row.Says = append(row.Says, q.Brief())
			}
			g.Rows = append(g.Rows, row)
		}
		if g.Rows != nil {
			p.Groups = append(p.Groups, g)
		}
	}
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
	return s.page(w, "screens", in.Title, t.title, facts, p)
}

var (
	threeConditions = []string{movement.Passive, movement.Active, movement.InSkill}
	threeGaps       = []string{change.Range, change.Control, change.Use}
)

// levelCell is the angle of a condition; empty if it was not read.
func (s *setting) levelCell(k *change.Screen, condition string) screensCell {
	for i := range k.Levels {
		if l := &k.Levels[i]; l.Condition == condition {
			c := screensCell{Deg: s.noUnits(l.AngleDeg, half(l.IntervalDeg))}
			if l.AtLeast {
				c.Deg = "≥ " + c.Deg
			}
			return c
		}
	}
	return screensCell{}
}

// gapCell is a gap with the probability that there is one; empty if it is not known.
func (s *setting) gapCell(k *change.Screen, name string) screensCell {
	for i := range k.Gaps {
		if g := &k.Gaps[i]; g.Name == name {
			return screensCell{s.noUnits(g.Deg, half(g.IntervalDeg)), reading.Percent(g.RealProbability), g.Shown}
		}
	}
	return screensCell{}
}

// noUnits is a value with its expanded uncertainty for a column of degrees.
func (s *setting) noUnits(v, u float64) string {
	return strings.ReplaceAll(s.plusMinus(v, u), "°", "")
}

// askedOfAll says what is asked, where it is the same of all.
func (s *setting) askedOfAll(in ScreensInput) string {
	asked := in.Screens[0].Screen.AskedDeg
	for _, a := range in.Screens {
		if a.Screen.AskedDeg != asked {
			return ""
		}
	}
	return fmt.Sprintf(s.kind().screens.asked, s.number(asked, 0))
}
