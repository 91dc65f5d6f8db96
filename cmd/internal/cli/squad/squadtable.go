package squad

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/session"
)

// measuresOf returns the measures that were read, in the order of the list.
func measuresOf(r *session.Report) (out []string) {
	for i := range r.Athletes {
		for _, one := range r.Athletes[i].Readings {
			if !slices.Contains(out, one.Reading.Measure) {
				out = append(out, one.Reading.Measure)
			}
		}
	}
	return out
}

// squadColumns are the widths of a table's columns, characters, and its ruler.
type squadColumns struct {
	who, what, angle int
	ruler            terminal.Scale
}

// verdictWide is the width of "0.05–0.10 or 0.30  87 %".
const verdictWide = 22

// fitColumns sets the widths: the ruler gets what the words leave.
func fitColumns(r *session.Report, measure string) squadColumns {
	const mostName, leastRuler = 12, 10
	c := squadColumns{ruler: terminal.Scale{From: math.Inf(1), To: math.Inf(-1)}}
	for i := range r.Athletes {
		for k := range r.Athletes[i].Readings {
			one := &r.Athletes[i].Readings[k]
			if one.Reading.Measure != measure {
				continue
			}
			c.who = max(c.who, min(mostName, utf8.RuneCountInString(r.Athletes[i].Athlete)))
			c.what = max(c.what, utf8.RuneCountInString(squadHow(one)))
			c.angle = max(c.angle, utf8.RuneCountInString(angleWords(one.Reading)))
			c.ruler.From = math.Min(c.ruler.From, one.Reading.IntervalDeg[0])
			c.ruler.To = math.Max(c.ruler.To, one.Reading.IntervalDeg[1])
			if s := one.Reading.Skill; s != nil {
				c.ruler.From, c.ruler.To = math.Min(c.ruler.From, s.ThresholdDeg), math.Max(c.ruler.To, s.ThresholdDeg)
			}
		}
	}
	c.ruler = c.ruler.WithMargin()
	c.ruler.Width = max(leastRuler, terminal.HelpWidth-c.left()-2-verdictWide)
	return c
}

// left returns the column at which the ruler begins.
func (c squadColumns) left() int {
	n := c.who + 2 + c.angle + 2
	if c.what > 0 {
		n += c.what + 2
	}
	return n
}

// squadHow returns the condition, side and state of a reading, as far as known.
func squadHow(r *session.Reading) string { return desk.Spaced(r.Condition, r.Variant, r.Side, r.State) }

func angleWords(r *reading.Reading) string {
	return terminal.Plain(desk.PlusMinus(r.AngleDeg, r.ExpandedUncertaintyDeg))
}

// printTable prints one measure: the angle asked, a ruler for every reading, and the gaps under
// each athlete.
func printTable(p *terminal.Printer, r *session.Report, measure string) {
	c := fitColumns(r, measure)
	p.Line("")
	p.Wrap("", terminal.TitleOf(measure)+", in degrees"+asksOf(r, measure))
	p.Line("%s%s", strings.Repeat(" ", c.left()), c.ruler.Labels(append(thresholdsOf(r, measure), math.Ceil(c.ruler.From), math.Floor(c.ruler.To))...))
	for i := range r.Athletes {
		a := &r.Athletes[i]
		who := a.Athlete
		for k := range a.Readings {
			if one := &a.Readings[k]; one.Reading.Measure == measure {
				printReadingRow(p, c, who, one)
				who = ""
			}
		}
		for k := range a.Screens {
			if s := &a.Screens[k]; s.Measure == measure {
				p.Wrap(strings.Repeat(" ", c.who+2)+"missing"+whichScreen(a, s)+": ", gapsWords(s))
			}
		}
	}
}

// asksOf returns the angles that the skills of a measure ask, in words.
func asksOf(r *session.Report, measure string) string {
	var out []string
	for i := range r.Athletes {
		for _, one := range r.Athletes[i].Readings {
			if s := one.Reading.Skill; s != nil && one.Reading.Measure == measure {
				if words := fmt.Sprintf("%s/%s asks %s", s.Rulebook, s.Name, one.Reading.AskedWords()); !slices.Contains(out, words) {
					out = append(out, words)
				}
			}
		}
	}
	if len(out) == 0 {
		return ""
	}
	return "; " + strings.Join(out, "; ")
}

func thresholdsOf(r *session.Report, measure string) (out []float64) {
	for i := range r.Athletes {
		for _, one := range r.Athletes[i].Readings {
			if s := one.Reading.Skill; s != nil && one.Reading.Measure == measure && !slices.Contains(out, s.ThresholdDeg) {
				out = append(out, s.ThresholdDeg)
			}
		}
	}
	return out
}

func printReadingRow(p *terminal.Printer, c squadColumns, who string, r *session.Reading) {
	if n := []rune(who); len(n) > c.who {
		who = string(n[:c.who-1]) + "…"
	}
	text := fmt.Sprintf("%s  ", terminal.Padded(who, c.who))
	if c.what > 0 {
		text += terminal.Padded(squadHow(r), c.what) + "  "
	}
	var asked *float64
	if s := r.Reading.Skill; s != nil {
		asked = &s.ThresholdDeg
	}
	text += strings.Repeat(" ", c.angle-utf8.RuneCountInString(angleWords(r.Reading))) + angleWords(r.Reading) + "  "
	verdict, probability := verdictWords(r.Reading)
	text += terminal.Padded(c.ruler.Bar(r.Reading.AngleDeg, r.Reading.IntervalDeg, asked), c.ruler.Width)
	p.Line("%s  %s%s", text, terminal.Padded(verdict, verdictWide-utf8.RuneCountInString(probability)), probability)
}

// verdictWords returns the band, or those between which the picture cannot decide, and the
// probability of the first; if these do not fit, the decision and its probability.
func verdictWords(r *reading.Reading) (band, probability string) {
	v := r.Verdict
	if p := r.Judged(); p != nil {
		return p.Brief(), ""
	}
	if v == nil {
		return "", ""
	}
	probability = reading.Percent(r.Likely()[0].Probability)
	if band = r.Brief(); utf8.RuneCountInString(band+" "+probability) <= verdictWide {
		return band, probability
	}
	if v.Decision == reading.Short {
		return string(v.Decision), reading.Percent(1 - v.MeetsProbability)
	}
	return string(v.Decision), ""
}

// whichScreen returns the side, day and session of a screen if the athlete has several of its
// measure: " (left, 2026-10-05, evening)".
func whichScreen(a *session.Athlete, s *session.Screen) string {
	several := 0
	for i := range a.Screens {
		if a.Screens[i].Measure == s.Measure {
			several++
		}
	}
	var names []string
	for _, name := range []string{s.Side, s.Day, s.Session} {
		if name != "" {
			names = append(names, name)
		}
	}
	if several < 2 || len(names) == 0 {
		return ""
	}
	return " (" + strings.Join(names, ", ") + ")"
}

// gapsWords returns the gaps of a screen and which is the largest.
func gapsWords(s *session.Screen) string {
	var parts []string
	likeliest, p := "", 0.0
	for i := range s.Gaps {
		g := &s.Gaps[i]
		parts = append(parts, g.Name+" "+terminal.Plain(desk.PlusMinus(g.Deg, terminal.Half(g.IntervalDeg))))
		if g.LargestProbability != nil && *g.LargestProbability > p {
			likeliest, p = g.Name, *g.LargestProbability
		}
	}
	out := strings.Join(parts, ", ")
	switch {
	case likeliest == "":
		return out
	case s.Largest != "":
		return fmt.Sprintf("%s: %s most, %s", out, s.Largest, reading.Percent(p))
	}
	return fmt.Sprintf("%s: undecided which most, %s with %s", out, likeliest, reading.Percent(p))
}
