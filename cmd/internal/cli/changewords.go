package cli

import (
	"fmt"
	"math"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/journal"
	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
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
cold, warm and after in one session stands in a block of its own.

A trend takes readings on four days. With fewer, or where they scatter too much,
it says what is missing and from when on a reading could show a change.

An athlete varies from day to day. That is part of every difference between days:
at first by what published studies found, then by what the athlete's days show.
Whether readings share an error of rater, set-up or lens makes a difference surer
only where these were named.`
	changeExample = `  ecart change Wren --measure shoulder-flexion --side left
  ecart change Merlin --skill split-leap --state warm --figure merlin.svg
  ecart change Plover --measure hip-split --asked 180 --from 2026-01-01`

	changeFlagMeasure    = "the measure `NAME`; not needed where the athlete has readings of one only"
	changeFlagSkill      = "hold it against what the skill `NAME` or BOOK/NAME asks, instead of what the readings were asked"
	changeFlagAsked      = "hold it against so many `DEG`"
	changeFlagSide       = "readings of the `SIDE` left, right, front or back"
	changeFlagState      = "readings in the `STATE` cold, warm, after or unknown"
	changeFlagCondition  = "readings with the `CONDITION` passive, active, in-skill or unknown"
	changeFlagFrom       = "readings of takes made on the `DAY` such as 2026-03-21, or later"
	changeFlagTo         = "readings of takes made on the `DAY`, or earlier"
	changeFlagConfidence = "what intervals hold and a real change takes, `P` between 0.5 and 1"
	changeFlagFigure     = "draw it into `FILE`, which ends in .png or .svg"
	changeFlagSessions   = "draw before and after of single sessions into `FILE`, which ends in .png or .svg"
	changeFlagAll        = "every day in the table, however many there are"
	changeFlagJSON       = "print it as JSON (" + changeSchema + "), in full precision"
)

const (
	wordsTrend     = "the line"
	wordsStands    = "it stands at %s on %s"
	wordsRate      = "%s a month"
	wordsAsked     = "asked is %g°"
	wordsAtMost    = "asked is at most %g°"
	wordsBetween   = "%d days between: --all shows them"
	wordsSides     = "left against right"
	wordsSessions  = "before and after of one session"
	wordsUnlike    = "between unlike states"
	wordsStep      = "%s: %s %s, %s"
	wordsStateStep = "%s to %s"
	wordsSideStep  = "left minus right"
	wordsDiffer    = "%s to %s: %s, %s"
	wordsReal      = "real"
	wordsNotReal   = "cannot be told from none (%s° would show)"
)

// changeCautions stand under every change.
func changeCautions(c *changed) []string {
	out := []string{
		"this measures; it finds no cause and prescribes nothing: a person qualified for it decides what is trained",
		"never through pain: pain means stop",
	}
	for _, t := range c.Trends {
		var angles []float64
		if t.AskedDeg != nil {
			angles = append(angles, *t.AskedDeg)
		}
		for _, d := range t.Days {
			angles = append(angles, d.AngleDeg, d.IntervalDeg[1])
		}
		if reading.OverSplit(c.Measure, angles...) {
			return append(out, reading.OverSplitCaution)
		}
	}
	return out
}

// changeKind says which readings a trend is made of.
func changeKind(t *change.Trend) string {
	var parts []string
	if t.Side != "" {
		parts = append(parts, t.Side)
	}
	for _, p := range []string{t.Condition, t.State} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	n := 0
	for _, d := range t.Days {
		n += len(d.Readings)
	}
	first, last := t.Days[0].Day, t.Days[len(t.Days)-1].Day
	parts = append(parts, count(n, "reading")+" on "+count(len(t.Days), "day"))
	if len(t.Days) == 1 {
		return strings.Join(append(parts, held(dateWords(first))), ", ")
	}
	return strings.Join(append(parts, held(dateWords(first))+" to "+held(dateWords(last))), ", ")
}

// held keeps words on one row when text is broken.
func held(s string) string { return strings.ReplaceAll(s, " ", glue) }

func dateWords(d time.Time) string { return d.Format("2 January 2006") }

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// plusMinus is a value with its expanded uncertainty, rounded as people read it.
func plusMinus(v, u float64) string {
	a, b := uncertainty.Format(v, u)
	return a + "° ± " + b + "°"
}

// signedPlusMinus has the sign of a change before it.
func signedPlusMinus(v, u float64) string {
	if s := plusMinus(v, u); strings.HasPrefix(s, "-") {
		return s
	} else {
		return "+" + s
	}
}

// realWords say whether a change is real, and else what would be.
func realWords(real bool, smallest float64) string {
	if real {
		return wordsReal
	}
	_, u := uncertainty.Format(0, smallest)
	return fmt.Sprintf(wordsNotReal, u)
}

// leftOutWords say which readings were left out, those with one reason together.
func leftOutWords(left []change.LeftOut) (out []string) {
	const most = 6 // numbers that are named
	ids := map[string][]string{}
	var order []string
	for _, l := range left {
		if ids[l.Why] == nil {
			order = append(order, l.Why)
		}
		ids[l.Why] = append(ids[l.Why], fmt.Sprint(l.ID))
	}
	for _, why := range order {
		n := ids[why]
		named := strings.Join(n[:min(most, len(n))], ", ")
		if len(n) > most {
			named += ", ..."
		}
		out = append(out, fmt.Sprintf("%s (%s): %s", count(len(n), "reading"), named, why))
	}
	return out
}

func noteAhead(ahead []journal.Row, today string) string {
	return fmt.Sprintf("%s filed under a day ahead of today, %s, left out (reading %d, %s): set this machine's clock, or file it under its day",
		count(len(ahead), "reading"), today, ahead[0].ID, ahead[0].Day)
}

func noteNoSide(n int) string {
	return count(n, "reading") + " of which the side was not said, left out"
}

func noteStale(last time.Time, days int) string {
	return fmt.Sprintf("the last reading is of %s, %d days ago: what came after it is not known", dateWords(last), days)
}

func notePast(day time.Time) string {
	return fmt.Sprintf("%s is past: the next reading could show it", dateWords(day))
}

// rateWords are the slope with its interval.
func rateWords(l *change.Line) string {
	return fmt.Sprintf(wordsRate, signedPlusMinus(l.SlopeDeg, math.Abs(l.SlopeIntervalDeg[1]-l.SlopeDeg)))
}
