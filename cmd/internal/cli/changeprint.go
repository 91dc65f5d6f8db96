package cli

import (
	"fmt"
	"io"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
	"ecart/geometry"
)

// printChange is a change for a phone's screen; all has every day in the table.
func printChange(w io.Writer, c *desk.Change, all bool) error {
	var p printer
	p.wrap("écart  ", titleOf(c.Measure)+", "+c.Athlete)
	for _, t := range c.Trends {
		p.trend(t, all)
	}
	p.sides(c)
	if len(c.Sessions) > 0 {
		p.line(wordsSessions)
		for i := range c.Sessions {
			p.step(fmt.Sprintf(wordsStateStep, c.Sessions[i].From, c.Sessions[i].To), &c.Sessions[i])
		}
		p.line("")
	}
	if u := c.Unlike; u != nil {
		p.line(desk.WordsUnlike)
		p.wrap("  ", u.Words())
		for _, s := range u.Cautions {
			p.wrap("  ", s)
		}
		p.line("")
	}
	for _, n := range c.AllNotes() {
		p.wrap("noted:   ", n)
	}
	for _, s := range c.Cautions {
		p.wrap("caution: ", s)
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

// titleOf is a measure as printed.
func titleOf(measure string) string {
	if m, ok := geometry.Lookup(measure); ok {
		return m.Title
	}
	return measure
}

// trend is one trend: what it is made of, the sentence, the days, the line, what
// is to be known of it.
func (p *printer) trend(t *change.Trend, all bool) {
	p.wrap("", desk.KindWords(t, heldDay))
	p.line("")
	p.wrap("  ", t.Sentence)
	p.line("")
	p.days(t, all)
	p.line("")
	if l := t.Line; l != nil {
		p.line(wordsTrend)
		p.wrap("  ", rateWords(l))
		last := t.Days[len(t.Days)-1].Day
		at, _, high := l.At(last)
		p.wrap("  ", fmt.Sprintf(wordsStands, desk.PlusMinus(at, high-at), desk.DateWords(last)))
	}
	switch {
	case t.AskedDeg == nil:
	case t.AtMost:
		p.wrap("  ", fmt.Sprintf(wordsAtMost, *t.AskedDeg))
	default:
		p.wrap("  ", fmt.Sprintf(wordsAsked, *t.AskedDeg))
	}
	if t.Line != nil || t.AskedDeg != nil {
		p.line("")
	}
}

func (p *printer) sides(c *desk.Change) {
	if c.Sides == nil && c.NoSides == "" {
		return
	}
	p.line(wordsSides)
	if c.Sides == nil {
		p.wrap("  ", c.NoSides)
		p.line("")
		return
	}
	p.wrap("  ", c.Sides.Sentence)
	for i := range c.Sides.Days {
		p.step(wordsSideStep, &c.Sides.Days[i])
	}
	for _, n := range desk.LeftOutWords(c.Sides.LeftOut) {
		p.wrap("  ", n)
	}
	p.line("")
}

// step is one difference between two states, or two sides, of a session; what says
// of which.
func (p *printer) step(what string, s *change.Step) {
	p.wrap("  ", desk.StepWords(what, s))
}

// mostDays is how many rows the table of days has at most.
const mostDays = 24

// days is the table: a row a day, the angle with its interval, and where that
// stands on a ruler with a notch for what is asked. Of many days the first and the
// last ones are shown.
func (p *printer) days(t *change.Trend, all bool) {
	texts := make([]string, len(t.Days))
	wide := 0
	for i, d := range t.Days {
		texts[i] = plain(desk.PlusMinus(d.AngleDeg, half(d.IntervalDeg)))
		wide = max(wide, len([]rune(texts[i])))
	}
	s := daysScale(t, printWidth-len("2006-01-02  ")-wide-len("  "))
	pad := strings.Repeat(" ", printWidth-s.width)
	p.line("%s%s", pad, s.labels(s.marked(t)...))
	hidden := 0
	if !all && len(t.Days) > mostDays {
		hidden = len(t.Days) - mostDays + 1
	}
	for i, d := range t.Days {
		if i > 0 && i <= hidden {
			if i == hidden {
				p.line("  "+wordsBetween, hidden)
			}
			continue
		}
		p.line("%s  %*s  %s", d.Day.Format("2006-01-02"), wide, texts[i], s.bar(d.AngleDeg, d.IntervalDeg, t.AskedDeg))
	}
}

// plain is a value without its degree signs, for a column.
func plain(s string) string { return strings.ReplaceAll(s, "°", "") }
