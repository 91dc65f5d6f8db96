package record

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/record"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// ChangeOptions are the flags of 'ecart change'.
type ChangeOptions struct {
	Filter     journal.Filter
	skill      string
	asked      askedOption
	Rules      string
	confidence float64
	figure     string
	sessions   string // the figure of before and after
	files      output.Set
	everyDay   bool
	group      GroupOptions
	json       bool
	Journal    string
	Now        func() time.Time // the clock
}

func NewChange(s terminal.Streams) *cobra.Command {
	o := ChangeOptions{Now: time.Now}
	c := &cobra.Command{
		Use:     "change ATHLETE|--squad LIST|--all --measure NAME",
		Short:   changeShort,
		Long:    changeLong,
		Example: changeExample,
		Args: func(c *cobra.Command, args []string) error {
			if o.group.asked() && len(args) == 0 {
				return nil
			}
			if o.group.asked() {
				return flags.Usage(c, fmt.Sprintf("'%s' was given the athlete %q and a group", c.CommandPath(), args[0]))
			}
			return flags.OneArg("athlete")(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error {
			if o.group.asked() {
				return groupRun(c.Context(), s, o)
			}
			if err := o.group.unasked(); err != nil {
				return err
			}
			o.Filter.Athlete = args[0]
			return changeRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.AddFlags(f)
	f.StringVar(&o.figure, "figure", "", changeFlagFigure)
	f.StringVar(&o.sessions, "session-figure", "", changeFlagSessions)
	f.BoolVar(&o.everyDay, "every-day", false, changeFlagEveryDay)
	f.StringVar(&o.group.list, "squad", "", groupFlagSquad)
	f.BoolVar(&o.group.all, "all", false, groupFlagAll)
	o.group.AddFlags(f)
	flags.AddForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, changeFlagJSON)
	flags.AddJournal(f, &o.Journal)
	flags.AddRulesDir(f, &o.Rules)
	return c
}

// AddFlags adds the flags by which readings are chosen and compared.
func (o *ChangeOptions) AddFlags(f *pflag.FlagSet) {
	f.StringVar(&o.Filter.Measure, "measure", "", changeFlagMeasure)
	f.StringVar(&o.skill, "skill", "", changeFlagSkill)
	addAsked(f, &o.asked)
	f.StringVar(&o.Filter.Side, "side", "", changeFlagSide)
	f.StringVar(&o.Filter.State, "state", "", changeFlagState)
	f.StringVar(&o.Filter.Condition, "condition", "", changeFlagCondition)
	f.StringVar(&o.Filter.Variant, "variant", "", changeFlagVariant)
	f.StringVar(&o.Filter.From, "from", "", changeFlagFrom)
	f.StringVar(&o.Filter.To, "to", "", changeFlagTo)
	f.Float64Var(&o.confidence, "confidence", 0.95, changeFlagConfidence)
}

func changeRun(ctx context.Context, s terminal.Streams, o ChangeOptions) error {
	o.files.From(o.Journal)
	for _, path := range []string{o.figure, o.sessions} {
		if err := flags.AddChart(&o.files, path); err != nil {
			return err
		}
	}
	r, err := record.New(s.DeskAt(o.Journal, o.Rules, o.Now)).Change(ctx, o.Ask())
	if err != nil {
		return err
	}
	if err := drawChange(ctx, o, r); err != nil {
		return err
	}
	if o.json {
		return terminal.PrintJSON(s.Out, r)
	}
	return printChange(s.Out, r, o.everyDay)
}

func (o *ChangeOptions) Ask() record.ChangeAsk {
	return record.ChangeAsk{Filter: o.Filter, Goal: o.asked.goal(o.skill), Confidence: o.confidence}
}

// askedOption is the flag --asked, degrees.
type askedOption struct {
	typed float64
	given bool
}

func addAsked(f *pflag.FlagSet, a *askedOption) {
	flags.FloatGiven(f, &a.typed, &a.given, "asked", changeFlagAsked)
}

func (a *askedOption) goal(skill string) record.Goal {
	g := record.Goal{Skill: skill}
	if a.given {
		g.Deg = &a.typed
	}
	return g
}

// drawChange draws the figures asked for: the months, and before and after.
func drawChange(ctx context.Context, o ChangeOptions, c *record.Change) error {
	if o.sessions != "" && len(c.Sessions) == 0 {
		return noSessions(c.Athlete)
	}
	t := c.Trends[0]
	for _, f := range []struct {
		path string
		draw func() (*chart.Drawing, error)
	}{
		{o.figure, func() (*chart.Drawing, error) {
			return c.Chart(chart.Options{})
		}},
		{o.sessions, func() (*chart.Drawing, error) {
			return chart.Steps(chart.StepsData{Who: c.Athlete, Measure: c.Measure, Steps: c.Sessions, AskedDeg: t.AskedDeg, AtMost: t.AtMost}, chart.Options{})
		}},
	} {
		if f.path == "" {
			continue
		}
		d, err := f.draw()
		if err != nil {
			return err
		}
		if err := flags.WriteChart(ctx, &o.files, f.path, d); err != nil {
			return err
		}
	}
	return nil
}

// Words of 'ecart change'. The sentence and the notes of a trend come from package change.

const (
	changeShort = "whether an athlete's angle has changed by more than the error of measuring"
	changeLong  = `Lays a line through an athlete's readings of one measure, as they were kept with
'ecart read --keep ATHLETE', and says by how much the angle has changed, which
change would be real, and when what is asked is reached at this rate. The table
has one row a day: the angle with its interval, and where it stands on a ruler.

Readings are compared with their like: of one side, condition and state. Others
are named and left out; --side, --condition and --state choose. Where left and
right were both read, each has a trend and the two are compared. What was read
cold, warm and after in one session stands in a block of its own, with what warming
up adds over all sessions together.

A trend takes readings on four days. With fewer, or where they scatter too much,
it says what is missing and from when on a reading could show a change.

An athlete varies from day to day. That is part of every difference between days:
at first by what published studies found, then by what the athlete's days show.
Whether readings share an error of rater, set-up or lens makes a difference surer
only where these were named.

--squad LIST or --all, in place of ATHLETE, is the change of a group: the mean over
its athletes with an interval, from each one's first to her last day, who goes on,
stands still or falls back, as far as it can be said, and the last month against
the one before. The interval holds for athletes like these (random effects). What
their readings have in common by rater, set-up or lens does not average out over
them. --nameless puts letters in place of names.`
	changeExample = `  ecart change Wren --measure shoulder-flexion --side left
  ecart change Merlin --skill split-leap --state warm --figure merlin.svg
  ecart change Plover --measure hip-split --asked 180 --from 2026-01-01
  ecart change --squad monday.csv --measure hip-split --state warm
  ecart change --all --measure hip-split --nameless --figure group.svg`

	changeFlagMeasure    = "the measure `NAME`; not needed where the athlete has readings of one only"
	changeFlagSkill      = "hold it against what the skill `NAME` or BOOK/NAME asks, instead of what the readings were asked"
	changeFlagAsked      = "hold it against so many `DEG`"
	changeFlagSide       = "readings of the `SIDE` left, right, front or back"
	changeFlagState      = "readings in the `STATE` cold, warm, after or unknown"
	changeFlagCondition  = "readings with the `CONDITION` passive, active, in-skill, swung or unknown"
	changeFlagVariant    = "readings in the `POSITION`, such as front or knee-bent"
	changeFlagFrom       = "readings of takes made on the `DAY` such as 2026-03-21, or later"
	changeFlagTo         = "readings of takes made on the `DAY`, or earlier"
	changeFlagConfidence = "what intervals hold and a real change takes, `P` between 0.5 and 1"
	changeFlagFigure     = "draw it into `FILE`, which ends in .png or .svg"
	changeFlagSessions   = "draw before and after of single sessions into `FILE`, which ends in .png or .svg"
	changeFlagEveryDay   = "every day in the table, however many there are"
	changeFlagJSON       = "print it as JSON (" + record.ChangeSchema + ", of a group " + record.GroupSchema + "), in full precision"
)

const (
	wordsTrend     = "the line"
	wordsStands    = "it stands at %s on %s"
	wordsRate      = "%s a month"
	wordsAsked     = "asked is %g°"
	wordsAtMost    = "asked is at most %g°"
	wordsBetween   = "%d days between: --every-day shows them"
	wordsBeside    = "also from these marks"
	wordsSides     = "left against right"
	wordsSessions  = "before and after of one session"
	wordsStateStep = "%s to %s"
	wordsSideStep  = "left minus right"
)

// heldDay returns a day in words that are not broken between rows.
func heldDay(d time.Time) string { return terminal.Held(desk.DateWords(d)) }

// rateWords returns the slope with its interval.
func rateWords(l *change.Line) string {
	return fmt.Sprintf(wordsRate, desk.SignedPlusMinus(l.SlopeDeg, math.Abs(l.SlopeIntervalDeg[1]-l.SlopeDeg)))
}

func noSessions(athlete string) error {
	return fault.New(fmt.Sprintf("%q was not read in two states in one session: there is no before and after to draw", athlete),
		"keep readings of one session with --state cold, --state warm or --state after, or leave --session-figure out")
}

// printChange prints a change, narrow enough for a phone; all: every day in the table.
func printChange(w io.Writer, c *record.Change, all bool) error {
	var p terminal.Printer
	p.Wrap("écart  ", terminal.TitleOf(c.Measure)+", "+c.Athlete)
	for _, t := range c.Trends {
		printTrend(&p, t, all)
	}
	if len(c.Beside) > 0 {
		p.Line(wordsBeside)
		for i := range c.Beside {
			p.Wrap("  ", c.Beside[i].Words())
		}
		p.Line("")
	}
	printSides(&p, c)
	if len(c.Sessions) > 0 {
		p.Line(wordsSessions)
		if c.WarmUp != nil {
			p.Wrap("  ", c.WarmUp.Sentence)
		}
		for i := range c.Sessions {
			printStep(&p, fmt.Sprintf(wordsStateStep, c.Sessions[i].From, c.Sessions[i].To), &c.Sessions[i])
		}
		p.Line("")
	}
	if u := c.Unlike; u != nil {
		p.Line(record.WordsUnlike)
		p.Wrap("  ", u.Words())
		for _, s := range u.Cautions {
			p.Wrap("  ", s)
		}
		p.Line("")
	}
	for _, n := range c.AllNotes() {
		p.Wrap("noted:   ", n)
	}
	for _, s := range c.Cautions {
		p.Wrap("caution: ", s)
	}
	return p.Print(w)
}

// printTrend prints one trend: its readings, the sentence, the days, the line and the notes.
func printTrend(p *terminal.Printer, t *change.Trend, all bool) {
	p.Wrap("", record.KindWords(t, heldDay))
	p.Line("")
	p.Wrap("  ", t.Sentence)
	p.Line("")
	printDays(p, t, all)
	p.Line("")
	if l := t.Line; l != nil {
		p.Line(wordsTrend)
		p.Wrap("  ", rateWords(l))
		last := t.Days[len(t.Days)-1].Day
		at, _, high := l.At(last)
		p.Wrap("  ", fmt.Sprintf(wordsStands, desk.PlusMinus(at, high-at), desk.DateWords(last)))
	}
	switch {
	case t.AskedDeg == nil:
	case t.AtMost:
		p.Wrap("  ", fmt.Sprintf(wordsAtMost, *t.AskedDeg))
	default:
		p.Wrap("  ", fmt.Sprintf(wordsAsked, *t.AskedDeg))
	}
	if t.Line != nil || t.AskedDeg != nil {
		p.Line("")
	}
}

func printSides(p *terminal.Printer, c *record.Change) {
	if c.Sides == nil && c.NoSides == "" {
		return
	}
	p.Line(wordsSides)
	if c.Sides == nil {
		p.Wrap("  ", c.NoSides)
		p.Line("")
		return
	}
	p.Wrap("  ", c.Sides.Sentence)
	for i := range c.Sides.Days {
		printStep(p, wordsSideStep, &c.Sides.Days[i])
	}
	for _, n := range record.LeftOutWords(c.Sides.LeftOut) {
		p.Wrap("  ", n)
	}
	p.Line("")
}

// printStep prints one difference between two states or sides of a session, named by what.
func printStep(p *terminal.Printer, what string, s *change.Step) {
	p.Wrap("  ", record.StepWords(what, s))
}

// mostDays is how many rows the table of days has at most.
const mostDays = 24

// printDays prints the table: a row a day with the angle, its interval and their place on a ruler
// with a notch for the angle asked. Of many days the first and the last are shown.
func printDays(p *terminal.Printer, t *change.Trend, all bool) {
	texts := make([]string, len(t.Days))
	wide := 0
	for i, d := range t.Days {
		texts[i] = terminal.Plain(desk.PlusMinus(d.AngleDeg, terminal.Half(d.IntervalDeg)))
		wide = max(wide, len([]rune(texts[i])))
	}
	s := terminal.DaysScale(t, terminal.PrintWidth-len("2006-01-02  ")-wide-len("  "))
	pad := strings.Repeat(" ", terminal.PrintWidth-s.Width)
	p.Line("%s%s", pad, s.Labels(s.Marked(t)...))
	hidden := 0
	if !all && len(t.Days) > mostDays {
		hidden = len(t.Days) - mostDays + 1
	}
	for i, d := range t.Days {
		if i > 0 && i <= hidden {
			if i == hidden {
				p.Line("  "+wordsBetween, hidden)
			}
			continue
		}
		p.Line("%s  %*s  %s", d.Day.Format("2006-01-02"), wide, texts[i], s.Bar(d.AngleDeg, d.IntervalDeg, t.AskedDeg))
	}
}
