package cli

import (
	"context"
	"time"

	"github.com/spf13/cobra"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"
)

// changeSchema names the version of the JSON of 'ecart change'.
const changeSchema = "ecart/change/1"

// changeOptions are what 'ecart change' was asked with, as typed.
type changeOptions struct {
	filter     journal.Filter
	skill      string
	asked      askedOption
	rules      string
	confidence float64
	figure     string
	sessions   string // the figure of before and after
	files      output.Set
	all        bool
	json       bool
	journal    string
	now        func() time.Time // the clock
}

// changed is what 'ecart change' found, and its JSON.
type changed struct {
	Schema   string            `json:"schema"`
	Athlete  string            `json:"athlete"`
	Measure  string            `json:"measure"`
	Today    string            `json:"today"` // by which the notes speak of the past
	Trends   []*change.Trend   `json:"trends"`
	Sides    *change.Asymmetry `json:"sides,omitempty"`    // left against right
	NoSides  string            `json:"no_sides,omitempty"` // why there is none though both were read
	Sessions []change.Step     `json:"sessions"`           // before and after of one session
	Unlike   *betweenStates    `json:"unlike,omitempty"`   // of days that are of unlike states
	Notes    []string          `json:"notes"`
	Cautions []string          `json:"cautions"`

	readings []change.Reading
}

// betweenStates is the difference between the first and the last day of all, which
// are of unlike states.
type betweenStates struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
	*change.Difference
}

func newChange(s streams) *cobra.Command {
	o := changeOptions{now: time.Now}
	c := &cobra.Command{
		Use:     "change ATHLETE --measure NAME",
		Short:   changeShort,
		Long:    changeLong,
		Example: changeExample,
		Args:    oneArg("athlete"),
		RunE: func(c *cobra.Command, args []string) error {
			o.filter.Athlete = args[0]
			o.asked.given = c.Flags().Changed("asked")
			return changeRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.filter.Measure, "measure", "", changeFlagMeasure)
	f.StringVar(&o.skill, "skill", "", changeFlagSkill)
	addAsked(f, &o.asked)
	f.StringVar(&o.filter.Side, "side", "", changeFlagSide)
	f.StringVar(&o.filter.State, "state", "", changeFlagState)
	f.StringVar(&o.filter.Condition, "condition", "", changeFlagCondition)
	f.StringVar(&o.filter.From, "from", "", changeFlagFrom)
	f.StringVar(&o.filter.To, "to", "", changeFlagTo)
	f.Float64Var(&o.confidence, "confidence", 0.95, changeFlagConfidence)
	f.StringVar(&o.figure, "figure", "", changeFlagFigure)
	f.StringVar(&o.sessions, "session-figure", "", changeFlagSessions)
	f.BoolVar(&o.all, "all", false, changeFlagAll)
	addForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, changeFlagJSON)
	addJournal(f, &o.journal)
	addRulesDir(f, &o.rules)
	return c
}

func changeRun(ctx context.Context, s streams, o changeOptions) error {
	r, err := o.find(ctx, s)
	if err != nil {
		return err
	}
	if err := drawChange(ctx, o, r); err != nil {
		return err
	}
	if o.json {
		return printJSON(s.out, r)
	}
	return printChange(s.out, r, o.all)
}

// find works out the change of the athlete in the journal.
func (o *changeOptions) find(ctx context.Context, s streams) (*changed, error) {
	if err := checkFilter(o.filter); err != nil {
		return nil, err
	}
	if err := checkConfidence(o.confidence); err != nil {
		return nil, err
	}
	if err := o.asked.find(s, o.rules, o.skill, &o.filter.Measure); err != nil {
		return nil, err
	}
	o.files.From(o.journal)
	for _, path := range []string{o.figure, o.sessions} {
		if err := addChart(&o.files, path); err != nil {
			return nil, err
		}
	}
	j, err := openJournal(o.journal, journal.Options{Read: true, Now: o.now})
	if err != nil {
		return nil, err
	}
	defer j.Close()
	rows, err := rowsOf(ctx, j, o.filter)
	if err != nil {
		return nil, err
	}
	return changeOf(rows, *o)
}

// changeOf works out the change from the rows of one athlete, which are of one
// measure if that was named.
func changeOf(rows []journal.Row, o changeOptions) (*changed, error) {
	today := o.now().Format(time.DateOnly)
	out := &changed{Schema: changeSchema, Athlete: rows[0].Athlete, Today: today, Sessions: []change.Step{}, Notes: []string{}}
	rows, err := notAhead(rows, today, &out.Notes)
	if err != nil {
		return nil, err
	}
	if out.Measure, err = oneMeasure(rows); err != nil {
		return nil, err
	}
	rs, err := changeRows(rows)
	if err != nil {
		return nil, err
	}
	out.readings = rs
	opt := change.Options{AskedDeg: o.asked.deg, AtMost: o.asked.atMost, Coverage: o.confidence}
	for _, group := range bySaidSide(rs, &out.Notes) {
		t, err := change.NewTrend(group, opt)
		if err != nil {
			return nil, err
		}
		out.Trends = append(out.Trends, t)
		out.stale(t, o.now())
	}
	if len(out.Trends) == 1 {
		out.betweenStates(rs, o.confidence)
	}
	if hasBothSides(rs) {
		if out.Sides, err = change.Sides(rs, o.confidence); err != nil {
			out.NoSides = err.Error()
		}
	}
	steps, err := change.Steps(rs, o.confidence)
	if err != nil {
		return nil, err
	}
	out.Sessions = append(out.Sessions, steps...)
	out.Cautions = changeCautions(out)
	return out, nil
}
