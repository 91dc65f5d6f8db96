package record

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/record"
)

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

// half is half the width of an interval.
