package record

import (
	"fmt"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/record"
)

// All that 'ecart screen' says of its own stands in this file. The sentence, what a
// screen looks at next and the cautions come from package change.

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
