package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/journal"
	"ecart/geometry/uncertainty"
)

// All that 'ecart change' says of its own stands in this file. The sentence and the
// notes of a trend come from package change.

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
it says what is missing and from when on a reading could show a change.`
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
	wordsNotReal   = "not real under %s°"
	wordsSplit     = "over-split work belongs with a person qualified for it, after a full passive split"
)

// changeCautions stand under every change.
func changeCautions(c *changed) []string {
	out := []string{
		"this measures; it finds no cause and prescribes nothing: a person qualified for it decides what is trained",
		"never through pain: pain means stop",
	}
	over := func(t *change.Trend) bool { return t.AskedDeg != nil && *t.AskedDeg > 180 }
	if c.Measure == "hip-split" && slices.ContainsFunc(c.Trends, over) {
		out = append(out, wordsSplit)
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

func noSessions(athlete string) error {
	return &inputError{fmt.Sprintf("%q was not read in two states in one session: there is no before and after to draw", athlete),
		"keep readings of one session with --state cold, --state warm or --state after, or leave --session-figure out"}
}

func twoAsked() error {
	return &inputError{"--asked and --skill both say what is asked", "give one of them"}
}

func noAngle(deg float64) error {
	return &inputError{fmt.Sprintf("--asked %g is no angle from 0 to 360 degrees", deg), "a split asks for 180"}
}

func otherMeasure(skill, its, given string) error {
	return &inputError{fmt.Sprintf("the skill %q is of the measure %q, and %q is asked for", skill, its, given), "name a skill of that measure; 'ecart rules' lists them"}
}

func noConfidence(p float64) error {
	return &inputError{fmt.Sprintf("--confidence %g is not between 0.5 and 1", p), "0.95 is usual"}
}

func noAthlete(name, path, near string, names []string) error {
	const most = 12
	hint := "nobody is in it yet: 'ecart read TAKE --keep " + "ATHLETE' keeps a reading"
	if len(names) > 0 {
		hint = "in it are " + strings.Join(names[:min(most, len(names))], ", ")
		if len(names) > most {
			hint += fmt.Sprintf(" and %d more: 'ecart journal list' shows them", len(names)-most)
		}
	}
	if near != "" {
		hint = fmt.Sprintf("did you mean %q? %s", near, hint)
	}
	return &inputError{fmt.Sprintf("there is no athlete %q in the journal %q", name, path), hint}
}

// noneLike says what there is where nothing is of the kind asked for.
func noneLike(athlete string, f journal.Filter, all []journal.Row) error {
	var asked, there []string
	for _, c := range []struct {
		value, what string
		of          func(*journal.Row) string
	}{
		{f.Measure, "of %s", func(r *journal.Row) string { return r.Measure }},
		{f.Side, "of the side %s", func(r *journal.Row) string { return r.Side }},
		{f.State, "in the state %s", func(r *journal.Row) string { return r.State }},
		{f.Condition, "with the condition %s", func(r *journal.Row) string { return r.Condition }},
	} {
		if c.value != "" {
			asked = append(asked, fmt.Sprintf(c.what, c.value))
			there = append(there, distinct(all, c.of)...)
		}
	}
	if f.From != "" {
		asked = append(asked, "from "+f.From+" on")
	}
	if f.To != "" {
		asked = append(asked, "up to "+f.To)
	}
	there = slices.DeleteFunc(there, func(s string) bool { return s == "" })
	hint := fmt.Sprintf("%s from %s to %s are there", count(len(all), "reading"), all[0].Day, all[len(all)-1].Day)
	if len(there) > 0 {
		hint += ": " + strings.Join(there, ", ")
	}
	return &inputError{fmt.Sprintf("%q has no reading %s", athlete, strings.Join(asked, ", ")), hint}
}

func allAhead(ahead []journal.Row, today string) error {
	return &inputError{fmt.Sprintf("reading %d and all others are filed under days ahead of today, %s: %s", ahead[0].ID, today, ahead[0].Day),
		"set this machine's clock, or file them under the days on which the takes were made"}
}

func mixedMeasures(athlete string, measures []string) error {
	return &inputError{fmt.Sprintf("%q has readings of %d measures, %s", athlete, len(measures), strings.Join(measures, ", ")),
		"name one with --measure, such as --measure " + measures[0]}
}

// rateWords are the slope with its interval.
func rateWords(l *change.Line) string {
	return fmt.Sprintf(wordsRate, signedPlusMinus(l.SlopeDeg, math.Abs(l.SlopeIntervalDeg[1]-l.SlopeDeg)))
}
