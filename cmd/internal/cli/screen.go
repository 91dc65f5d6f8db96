package cli

import (
	"context"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"
)

// screenSchema names the version of the JSON of 'ecart screen'.
const screenSchema = "ecart/screen/1"

// movements are what a screen can be of, and the measure of each.
var movements = map[string]string{"split": "hip-split", "shoulder": "shoulder-flexion"}

// screenOptions are what 'ecart screen' was asked with, as typed.
type screenOptions struct {
	athlete    string
	movement   string
	day, side  string
	skill      string
	asked      askedOption
	rules      string
	confidence float64
	seed       uint64
	figure     string
	files      output.Set
	json       bool
	journal    string
	now        func() time.Time // the clock
}

// screened is what 'ecart screen' found, and its JSON: a screen of each side.
type screened struct {
	Schema   string       `json:"schema"`
	Athlete  string       `json:"athlete"`
	Movement string       `json:"movement"`
	Day      string       `json:"day"`
	Screens  []sideScreen `json:"screens"`
	Notes    []string     `json:"notes"`
}

// sideScreen is the screen of one side; "" where no side was said.
type sideScreen struct {
	Side string `json:"side,omitempty"`
	*change.Screen
}

func newScreen(s streams) *cobra.Command {
	o := screenOptions{now: time.Now}
	c := &cobra.Command{
		Use:     "screen ATHLETE --movement split|shoulder",
		Short:   screenShort,
		Long:    screenLong,
		Example: screenExample,
		Args:    oneArg("athlete"),
		RunE: func(c *cobra.Command, args []string) error {
			o.athlete = args[0]
			o.asked.given = c.Flags().Changed("asked")
			return screenRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.movement, "movement", "", screenFlagMovement)
	f.StringVar(&o.day, "day", "", screenFlagDay)
	f.StringVar(&o.side, "side", "", changeFlagSide)
	f.StringVar(&o.skill, "skill", "", changeFlagSkill)
	addAsked(f, &o.asked)
	f.Float64Var(&o.confidence, "confidence", 0.95, screenFlagConfidence)
	f.Uint64Var(&o.seed, "seed", 1, screenFlagSeed)
	f.StringVar(&o.figure, "figure", "", screenFlagFigure)
	addForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, screenFlagJSON)
	addJournal(f, &o.journal)
	addRulesDir(f, &o.rules)
	return c
}

func screenRun(ctx context.Context, s streams, o screenOptions) error {
	r, err := o.find(ctx, s)
	if err != nil {
		return err
	}
	if o.figure != "" {
		if err := drawScreen(ctx, &o.files, o.figure, r); err != nil {
			return err
		}
	}
	if o.json {
		return printJSON(s.out, r)
	}
	return printScreen(s.out, r)
}

// find works out the screen of the athlete in the journal.
func (o *screenOptions) find(ctx context.Context, s streams) (*screened, error) {
	measure, err := o.check(s)
	if err != nil {
		return nil, err
	}
	j, err := openJournal(o.journal, journal.Options{Read: true, Now: o.now})
	if err != nil {
		return nil, err
	}
	defer j.Close()
	return screenOf(ctx, j, measure, *o)
}

// check looks through what is known without the journal, and finds the measure.
func (o *screenOptions) check(s streams) (measure string, err error) {
	if o.movement == "" {
		return "", noMovement()
	}
	if err := oneOf("movement", o.movement, "split", "shoulder"); err != nil {
		return "", err
	}
	measure = movements[o.movement]
	if err := checkFilter(journal.Filter{Side: o.side}); err != nil {
		return "", err
	}
	if _, err := parseDay("day", o.day); err != nil {
		return "", err
	}
	if err := checkConfidence(o.confidence); err != nil {
		return "", err
	}
	if err := o.asked.find(s, o.rules, o.skill, &measure); err != nil {
		return "", err
	}
	o.files.From(o.journal)
	return measure, addChart(&o.files, o.figure)
}

func screenOf(ctx context.Context, j *journal.Journal, measure string, o screenOptions) (*screened, error) {
	rows, err := rowsOf(ctx, j, journal.Filter{Athlete: o.athlete, Measure: measure, Side: o.side, From: o.day, To: o.day})
	if err != nil {
		return nil, err
	}
	out := &screened{Schema: screenSchema, Athlete: rows[0].Athlete, Movement: o.movement, Notes: []string{}}
	if rows, err = notAhead(rows, o.now().Format(time.DateOnly), &out.Notes); err != nil {
		return nil, err
	}
	if out.Day = latestScreen(rows); out.Day == "" {
		return nil, nothingToScreen(rows, o.movement)
	}
	var ids []int64
	for _, r := range rows {
		if r.Day == out.Day {
			ids = append(ids, r.ID)
		}
	}
	rs, err := changeReadings(ctx, j, journal.Filter{IDs: ids})
	if err != nil {
		return nil, err
	}
	opt := change.ScreenOptions{AskedDeg: o.asked.deg, AtMost: o.asked.atMost, Coverage: o.confidence, Seed: o.seed}
	for _, side := range []string{"left", "right", "front", "back", ""} {
		group := slices.DeleteFunc(slices.Clone(rs), func(r change.Reading) bool { return r.Side != side })
		if len(group) == 0 {
			continue
		}
		if change.Conditions(group) < change.FewestConditions {
			out.Notes = append(out.Notes, noteOneCondition(side, len(group)))
			continue
		}
		one, err := change.NewScreen(group, opt)
		if err != nil {
			return nil, err
		}
		out.Screens = append(out.Screens, sideScreen{side, one})
	}
	if len(out.Screens) == 0 {
		return nil, nothingToScreen(rows, o.movement)
	}
	return out, nil
}

// latestScreen is the last day on which a side was read in two conditions or more.
func latestScreen(rows []journal.Row) (latest string) {
	type cell struct{ day, side string }
	said := map[cell][]string{}
	for _, r := range rows {
		c := cell{r.Day, r.Side}
		if r.Condition == journal.Unknown || slices.Contains(said[c], r.Condition) {
			continue
		}
		if said[c] = append(said[c], r.Condition); len(said[c]) >= change.FewestConditions && r.Day > latest {
			latest = r.Day
		}
	}
	return latest
}

// drawScreen draws the screen of one side.
func drawScreen(ctx context.Context, files *output.Set, path string, r *screened) error {
	if len(r.Screens) > 1 {
		return twoToDraw(r)
	}
	d, err := chart.Screen(chart.ScreenData{Who: r.Athlete, Screen: r.Screens[0].Screen}, chart.Options{})
	if err != nil {
		return err
	}
	return writeChart(ctx, files, path, d)
}
