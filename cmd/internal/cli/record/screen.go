package record

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/cli/flags"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/record"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// ScreenOptions are the flags of 'ecart screen'.
type ScreenOptions struct {
	Athlete    string
	movement   string
	contrast   string // its name; "": a screen
	day, side  string
	skill      string
	asked      askedOption
	Rules      string
	squad      string // a list, whose athletes are screened; "": one athlete
	all        bool   // all athletes of the journal are screened
	toTake     bool
	confidence float64
	seed       uint64
	figure     string
	files      output.Set
	json, list bool
	Journal    string
	Now        func() time.Time // the clock
}

func NewScreen(s terminal.Streams) *cobra.Command {
	o := ScreenOptions{Now: time.Now}
	c := &cobra.Command{
		Use:     "screen ATHLETE|--squad LIST|--all --movement MOVEMENT | --contrast CONTRAST",
		Short:   screenShort,
		Long:    screenLong,
		Example: screenExample,
		Args:    screenArgs(&o),
		RunE: func(c *cobra.Command, args []string) error {
			if o.list {
				return screenListRun(s, o.json)
			}
			if o.squad != "" || o.all {
				return squadScreenRun(c.Context(), s, &o)
			}
			o.Athlete = args[0]
			if o.toTake {
				return toTakeOfOne()
			}
			if o.contrast != "" {
				return contrastRun(c.Context(), s, &o)
			}
			return screenRun(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	o.AddFlags(f)
	f.StringVar(&o.squad, "squad", "", screenFlagSquad)
	f.BoolVar(&o.all, "all", false, screenFlagAll)
	f.BoolVar(&o.toTake, "to-take", false, screenFlagToTake)
	f.StringVar(&o.contrast, "contrast", "", screenFlagContrast)
	f.StringVar(&o.figure, "figure", "", screenFlagFigure)
	f.BoolVar(&o.list, "list", false, screenFlagList)
	flags.AddForce(f, &o.files)
	f.BoolVar(&o.json, "json", false, screenFlagJSON)
	flags.AddJournal(f, &o.Journal)
	flags.AddRulesDir(f, &o.Rules)
	return c
}

// AddFlags adds the flags by which readings are chosen and compared.
func (o *ScreenOptions) AddFlags(f *pflag.FlagSet) {
	f.StringVar(&o.movement, "movement", "", screenFlagMovement)
	f.StringVar(&o.day, "day", "", screenFlagDay)
	f.StringVar(&o.side, "side", "", changeFlagSide)
	f.StringVar(&o.skill, "skill", "", changeFlagSkill)
	addAsked(f, &o.asked)
	f.Float64Var(&o.confidence, "confidence", 0.95, screenFlagConfidence)
	f.Uint64Var(&o.seed, "seed", 1, screenFlagSeed)
}

func screenListRun(s terminal.Streams, json bool) error {
	l := record.Screens()
	if json {
		return terminal.PrintJSON(s.Out, l)
	}
	return printScreenList(s.Out, l)
}

func screenRun(ctx context.Context, s terminal.Streams, o ScreenOptions) error {
	o.files.From(o.Journal)
	if err := flags.AddChart(&o.files, o.figure); err != nil {
		return err
	}
	r, err := record.New(s.DeskAt(o.Journal, o.Rules, o.Now)).Screen(ctx, o.Ask())
	if err != nil {
		return err
	}
	return show(ctx, s, asShown{&o.files, o.figure, o.json}, r, drawnScreen, printScreen)
}

func (o *ScreenOptions) Ask() record.ScreenAsk {
	return record.ScreenAsk{Athlete: o.Athlete, Movement: o.movement, Day: o.day, Side: o.side, Goal: o.asked.goal(o.skill), Confidence: o.confidence, Seed: o.seed}
}

// drawnScreen draws the screen of one side.
func drawnScreen(r *record.Screen) (*chart.Drawing, error) {
	if len(r.Screens) > 1 {
		return nil, twoToDraw(r)
	}
	return chart.Screen(chart.ScreenData{Who: r.Athlete, Screen: r.Screens[0].Screen}, chart.Options{})
}

// screenArgs accepts one athlete, or none if a squad is screened or the list is asked for.
func screenArgs(o *ScreenOptions) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case o.list:
			return flags.NoArgs(c, args)
		case (o.squad != "" || o.all) && len(args) > 0:
			return squadAndAthlete(args[0])
		case o.squad != "" || o.all:
			return nil
		}
		return flags.OneArg("athlete")(c, args)
	}
}

// printScreenList prints the movements that can be screened.
func printScreenList(w io.Writer, l *record.ScreenList) error {
	var p terminal.Printer
	p.Line("%s", wordsMovements)
	for _, m := range l.Movements {
		words := m.Title + ", from " + m.Measure
		if m.Variant != "" {
			words += " kept with --variant " + m.Variant
		}
		if m.Less {
			words += "; less is better"
		}
		p.Wrap(fmt.Sprintf("  %-10s ", m.Name), words)
	}
	p.Line("")
	p.Line("%s", wordsContrasts)
	for _, c := range l.Contrasts {
		p.Wrap(fmt.Sprintf("  %-14s ", c.Name), c.Title+": --variant "+c.Taut+" against "+c.Slack)
		p.Wrap("                 ", "separates "+c.Separates)
	}
	p.Line("")
	p.Line("%s", wordsPositions)
	last := ""
	for _, v := range l.Variants {
		if v.Measure != last {
			last = v.Measure
			p.Line("  %s", last)
		}
		words := v.Words
		if v.Thigh {
			words += "; read with --leg thigh"
		}
		p.Wrap(fmt.Sprintf("    %-22s ", v.Name), words)
	}
	return p.Print(w)
}

// Words of 'ecart screen'. The sentence, what to screen next and the cautions come from package change.

const (
	screenShort = "where the missing degrees are: range, control or use"
	screenLong  = `Compares an athlete's readings of one day: passive (a helper or gravity moves
the limb), active (own strength holds it), in-skill (in the element) and swung
(thrown, and not held). The gaps are

  range     asked minus passive: the helper took the limb no further
  control   passive minus active: the helper did, and own strength does not
  use       active minus in-skill: own strength does, and the skill does not show it
  swing     swung minus active: range that own strength does not hold

The first three add up to what is missing in the skill. Where less is better, as in
a pike, each is counted the other way round.

each with its interval and the probability that there is one. A gap is named where
that is at least 95 % (--confidence); for the others it says which takes would tell.
Then it says which structures and abilities a screen looks at next for a gap that is
shown. That list is common practice in halls and has no source; it finds no cause.

Keep the readings with 'ecart read --keep ATHLETE --condition passive' and so
on, several takes of each. Without --day the last day with two conditions
counts. Where left and right were both read, each has a screen. A movement in a
position of its own takes the readings kept with its --variant, such as leg-front
those with --variant front. --list prints the movements and positions.

--contrast compares two takes of one day that differ in one thing, such as a fold
with the knee straight and bent: by how many degrees, with an interval from which
what both share has cancelled, and how probably the limb goes further. It says what
the pair separates, what is looked at next, what it cannot say, and from which
clinical test it comes. It finds no cause and is no diagnosis.

--squad LIST screens all athletes named in a list, and --all those of the journal,
each side on its last day with two conditions: first those with a gap that is shown, then the undecided with the
takes that would tell, then who shows what is asked, and who has no screen. The
list is one of 'ecart squad', or has names alone under "athlete". --to-take prints
which takes are missing or would tell, in the order that costs least in the hall:
one condition of all athletes, both sides, and then the next. A screen compares
takes of one day, so a screen of a past day is taken again as a whole. 'ecart
sheet screens' prints both on paper.`
	screenExample = `  ecart screen Wren --movement split
  ecart screen Merlin --movement shoulder --side left --day 2026-03-21 \
      --figure merlin.svg
  ecart screen Plover --movement split --skill split-leap --json
  ecart screen Wren --movement leg-front --asked 60
  ecart screen --squad monday.csv --movement split --skill split-leap
  ecart screen --squad monday.csv --movement split --to-take
  ecart screen Wren --contrast hip-flexion-knee
  ecart screen --list`

	screenFlagMovement   = "the `MOVEMENT`: split, shoulder, straddle, bridge, pike, leg-front, leg-side or leg-back"
	screenFlagSquad      = "screen the athletes named in the `LIST` of a squad"
	screenFlagAll        = "screen all athletes of the journal"
	screenFlagToTake     = "with --squad or --all, print the takes that are missing or would tell, in the order of the hall"
	screenFlagContrast   = "instead of a movement, compare the two positions of the `CONTRAST`: --list has them"
	screenFlagDay        = "the `DAY` the takes were made on, such as 2026-03-21"
	screenFlagConfidence = "what intervals hold and a gap takes to be named, `P` between 0.5 and 1"
	screenFlagSeed       = "of the random draws, any whole number `N`; the same seed gives the same bytes"
	screenFlagFigure     = "draw it into `FILE`, which ends in .png or .svg"
	screenFlagList       = "print the movements, contrasts and positions, and end"
	screenFlagJSON       = "print it as JSON (" + record.ScreenSchema + "), in full precision"
)

const (
	wordsAskedLevel = "asked"
	wordsMovements  = "movements: ecart screen ATHLETE --movement"
	wordsPositions  = "positions other than the usual one: --variant"
	wordsGaps       = "the gaps, and how probably there is one"
	wordsLooks      = "what a screen looks at next (common practice, no source; places to look, and no finding)"
	wordsContrasts  = "contrasts: ecart screen ATHLETE --contrast"
	wordsFurther    = "further in the second position"
	wordsCannot     = "what it cannot say"
	wordsAtLeast    = "≥ " // a floor may have stopped the limb there
	wordsTakes      = "%s ×%d"
)

// screenKind returns what a screen is of.
func screenKind(r *record.Screen, s *record.SideScreen) string {
	parts := []string{terminal.Held(desk.DateWords(s.Day))}
	if s.Side != "" {
		parts = append(parts, s.Side)
	}
	n := 0
	for _, l := range s.Levels {
		n += l.Takes
	}
	return strings.Join(append(parts, desk.Count(n, "take")), ", ")
}

// levelWords returns the name of a level, with the number of its takes if there are several.
func levelWords(l *change.Level) string {
	if l.Takes > 1 {
		return fmt.Sprintf(wordsTakes, l.Condition, l.Takes)
	}
	return l.Condition
}

// gapProbability returns the probability that the gap exists, in words.
func gapProbability(g *change.Gap) string { return reading.Percent(g.RealProbability) }

func twoToDraw(r *record.Screen) error {
	var sides []string
	for _, s := range r.Screens {
		sides = append(sides, "--side "+s.Side)
	}
	return fault.New(fmt.Sprintf("%q was read on %s, and a figure shows one side", r.Athlete, desk.Count(len(sides), "side")), "give "+strings.Join(sides, " or "))
}

// printScreen prints a screen, narrow enough for a phone.
func printScreen(w io.Writer, r *record.Screen) error {
	var p terminal.Printer
	p.Wrap("écart  ", r.Title+", "+r.Athlete)
	for i := range r.Screens {
		printSide(&p, r, &r.Screens[i])
	}
	for _, n := range r.Notes {
		p.Wrap("noted:   ", n)
	}
	for _, c := range r.Screens[0].Cautions {
		p.Wrap("caution: ", c)
	}
	return p.Print(w)
}

func printSide(p *terminal.Printer, r *record.Screen, s *record.SideScreen) {
	p.Wrap("", screenKind(r, s))
	p.Line("")
	p.Wrap("  ", s.Sentence)
	p.Line("")
	printLevels(p, s.Screen)
	p.Line("")
	printGaps(p, s.Screen)
	p.Line("")
	if len(s.LooksAt) > 0 {
		p.Wrap("", wordsLooks)
	}
	for _, l := range s.LooksAt {
		p.Wrap("  ", l.Gap+": "+l.Means)
		for _, at := range l.At {
			p.Wrap("    · ", at)
		}
	}
	for _, n := range s.Notes {
		p.Wrap("noted:   ", n)
	}
	for _, n := range record.LeftOutWords(s.LeftOut) {
		p.Wrap("noted:   ", n)
	}
	p.Line("")
}

// printLevels prints one ruler with a row for each condition and a notch for the angle asked.
func printLevels(p *terminal.Printer, s *change.Screen) {
	names, values := []string{}, []string{}
	wide, room := 0, utf8.RuneCountInString(wordsAskedLevel)
	sc := terminal.Scale{From: s.AskedDeg, To: s.AskedDeg}
	for i := range s.Levels {
		l := &s.Levels[i]
		names = append(names, levelWords(l))
		value := terminal.Plain(desk.PlusMinus(l.AngleDeg, terminal.Half(l.IntervalDeg)))
		if l.AtLeast {
			value = wordsAtLeast + value
		}
		values = append(values, value)
		room, wide = max(room, utf8.RuneCountInString(names[i])), max(wide, utf8.RuneCountInString(values[i]))
		sc.From, sc.To = math.Min(sc.From, l.IntervalDeg[0]), math.Max(sc.To, l.IntervalDeg[1])
	}
	sc.Width = terminal.PrintWidth - room - wide - len("    ")
	sc = sc.WithMargin()
	at := terminal.Blank(sc.Width)
	at[sc.Column(s.AskedDeg)] = '╎'
	p.Line("%-*s  %*s  %s", room, wordsAskedLevel, wide, fmt.Sprintf("%g", s.AskedDeg), string(at))
	for i := range s.Levels {
		l := &s.Levels[i]
		p.Line("%-*s  %*s  %s", room, names[i], wide, values[i], sc.Bar(l.AngleDeg, l.IntervalDeg, &s.AskedDeg))
	}
	p.Line("%s%s", strings.Repeat(" ", terminal.PrintWidth-sc.Width), sc.Labels(s.AskedDeg, math.Ceil(sc.From), math.Floor(sc.To)))
}

// printGaps prints a row for each gap: its ends, its size and the probability that it exists.
func printGaps(p *terminal.Printer, s *change.Screen) {
	p.Line("%s", wordsGaps)
	for i := range s.Gaps {
		g := &s.Gaps[i]
		p.Line("  %-7s %-17s %10s %9s", g.Name, g.From+" → "+g.To, terminal.Plain(desk.PlusMinus(g.Deg, terminal.Half(g.IntervalDeg))), gapProbability(g))
	}
}
