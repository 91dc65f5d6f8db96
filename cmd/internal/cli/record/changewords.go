package record

import (
	"fmt"
	"math"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/record"
)

// All that 'ecart change' says of its own stands in this file, and its errors in
// changefaults.go. The sentence and the notes of a trend come from package change.

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

// heldDay returns a day in words that stay on one row.
func heldDay(d time.Time) string { return terminal.Held(desk.DateWords(d)) }

// rateWords returns the slope with its interval.
func rateWords(l *change.Line) string {
	return fmt.Sprintf(wordsRate, desk.SignedPlusMinus(l.SlopeDeg, math.Abs(l.SlopeIntervalDeg[1]-l.SlopeDeg)))
}

func noSessions(athlete string) error {
	return fault.New(fmt.Sprintf("%q was not read in two states in one session: there is no before and after to draw", athlete),
		"keep readings of one session with --state cold, --state warm or --state after, or leave --session-figure out")
}
