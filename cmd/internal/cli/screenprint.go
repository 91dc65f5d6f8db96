package cli

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
)

// printScreen is a screen for a phone's screen.
func printScreen(w io.Writer, r *desk.Screen) error {
	var p printer
	p.wrap("écart  ", titleOf(desk.Movements[r.Movement])+", "+r.Athlete)
	for i := range r.Screens {
		p.screen(r, &r.Screens[i])
	}
	for _, n := range r.Notes {
		p.wrap("noted:   ", n)
	}
	for _, c := range r.Screens[0].Cautions {
		p.wrap("caution: ", c)
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

func (p *printer) screen(r *desk.Screen, s *desk.SideScreen) {
	p.wrap("", screenKind(r, s))
	p.line("")
	p.wrap("  ", s.Sentence)
	p.line("")
	p.levels(s.Screen)
	p.line("")
	p.gaps(s.Screen)
	p.line("")
	if len(s.LooksAt) > 0 {
		p.wrap("", wordsLooks)
	}
	for _, l := range s.LooksAt {
		p.wrap("  ", l.Gap+": "+l.Means)
		for _, at := range l.At {
			p.wrap("    · ", at)
		}
	}
	for _, n := range s.Notes {
		p.wrap("noted:   ", n)
	}
	for _, n := range desk.LeftOutWords(s.LeftOut) {
		p.wrap("noted:   ", n)
	}
	p.line("")
}

// levels is one ruler with a row for each condition and a notch for what is asked.
func (p *printer) levels(s *change.Screen) {
	names, values := []string{}, []string{}
	wide, room := 0, utf8.RuneCountInString(wordsAskedLevel)
	sc := scale{s.AskedDeg, s.AskedDeg, 0}
	for i := range s.Levels {
		l := &s.Levels[i]
		names = append(names, levelWords(l))
		values = append(values, plain(desk.PlusMinus(l.AngleDeg, half(l.IntervalDeg))))
		room, wide = max(room, utf8.RuneCountInString(names[i])), max(wide, utf8.RuneCountInString(values[i]))
		sc.from, sc.to = math.Min(sc.from, l.IntervalDeg[0]), math.Max(sc.to, l.IntervalDeg[1])
	}
	sc.width = printWidth - room - wide - len("    ")
	sc = sc.withMargin()
	at := blank(sc.width)
	at[sc.column(s.AskedDeg)] = '╎'
	p.line("%-*s  %*s  %s", room, wordsAskedLevel, wide, fmt.Sprintf("%g", s.AskedDeg), string(at))
	for i := range s.Levels {
		l := &s.Levels[i]
		p.line("%-*s  %*s  %s", room, names[i], wide, values[i], sc.bar(l.AngleDeg, l.IntervalDeg, &s.AskedDeg))
	}
	p.line("%s%s", strings.Repeat(" ", printWidth-sc.width), sc.labels(s.AskedDeg, math.Ceil(sc.from), math.Floor(sc.to)))
}

// gaps is a row for each gap: from where to where, how much, and the probability
// that there is one.
func (p *printer) gaps(s *change.Screen) {
	p.line("%s", wordsGaps)
	for i := range s.Gaps {
		g := &s.Gaps[i]
		p.line("  %-7s %-17s %10s %9s", g.Name, g.From+" → "+g.To, plain(desk.PlusMinus(g.Deg, half(g.IntervalDeg))), gapProbability(g))
	}
}

// half is half the width of an interval.
func half(interval [2]float64) float64 { return (interval[1] - interval[0]) / 2 }
