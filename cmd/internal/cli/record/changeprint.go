package record

import (
	"fmt"
	"io"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/record"
)

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
