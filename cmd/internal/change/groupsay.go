package change

import (
	"fmt"
	"math"
	"time"

	"ecart/cmd/internal/text"
	"ecart/geometry/uncertainty"
)

// say is the mean change in one sentence.
func (g *Group) say() string {
	if g.Mean == nil {
		return "only one athlete has a change: a mean takes two"
	}
	return g.Mean.say(fmt.Sprintf("the mean change of %d athletes", g.Mean.Athletes))
}

// say is the mean with its interval and whether it is real; what names it.
func (p *Pooled) say(what string) string {
	deg, half := uncertainty.Format(p.MeanDeg, p.SmallestDeg)
	if p.MeanDeg >= 0 {
		deg = "+" + deg
	}
	if p.Real {
		return fmt.Sprintf("%s is %s° ± %s°, a real change", what, deg, half)
	}
	return fmt.Sprintf("%s is %s° ± %s°; these readings cannot tell that from no change", what, deg, half)
}

// Words are the change from the month before in one sentence.
func (m *MonthAgainst) Words() string {
	return m.say(fmt.Sprintf("%s against %s: the mean change of %d athletes", monthWords(m.Month), monthWords(m.Before), m.Athletes))
}

func monthWords(m time.Time) string { return m.Format("January 2006") }

// BetweenWords say how much the athletes' own changes differ.
func (p *Pooled) BetweenWords() string {
	low, high := uncertainty.Format(p.BetweenInterval[0], p.BetweenInterval[1])
	return fmt.Sprintf("the athletes' own changes differ by a standard deviation of %.1f° (%s° to %s°)", p.BetweenDeg, low, high)
}

// WayWords are the ways in words.
var WayWords = map[Way]string{GoesOn: "goes on", StandsStill: "stands still", FallsBack: "falls back", NotKnown: "cannot be told"}

// WaySays say what each way means.
func (g *Group) WaySays(way Way) string {
	up, down := "up", "down"
	if g.AtMost {
		up, down = down, up
	}
	switch way {
	case GoesOn:
		return up + ", by more than the error of measuring"
	case FallsBack:
		return down + ", by more than the error of measuring"
	case StandsStill:
		return fmt.Sprintf("changed by less than %g° either way", g.WorthDeg)
	}
	return "the readings leave it open"
}

func (g *Group) note() {
	say := func(format string, a ...any) { g.Notes = append(g.Notes, fmt.Sprintf(format, a...)) }
	if p := g.Mean; p != nil {
		say("%s", p.BetweenWords())
		if p.CommonDeg > 0 {
			say("%.1f° of the mean's standard uncertainty of %.1f° is from errors that the athletes' readings share or may share (rater, set-up, lens, state): more athletes do not average it out", p.CommonDeg, p.StandardDeg)
		}
		const few = 5
		if p.Athletes < few {
			say("%s are few: the interval of their mean is wide for that alone", plural(p.Athletes, "athlete", "athletes"))
		}
	}
	if n := len(g.Members); n > 1 {
		by := math.Round(float64(n)*(1-g.Coverage)*10) / 10
		say("among %d athletes of whom none had changed, about %g would be called changed by chance; 'sure' marks changes that are real also among so many", n, by)
		first, last := g.Members[0], g.Members[0]
		for _, m := range g.Members {
			if length(m) < length(first) {
				first = m
			}
			if length(m) > length(last) {
				last = m
			}
		}
		if a, b := length(first), length(last); b-a > 0.5 {
			say("the athletes' changes span %.1f to %.1f months", a, b)
		}
	}
	if g.State == "" {
		say("nobody said whether the athletes were cold or warm; range differs by it")
	}
	var why []string
	for _, l := range g.LeftOut {
		why = append(why, l.Athlete+" ("+l.Why+")")
	}
	if why != nil {
		say("not in the mean: %s", text.And(why))
	}
	say("mean with random effects over athletes (Paule and Mandel 1982), interval of Knapp and Hartung, never narrower than the normal one (Röver 2015), so that it holds for athletes like these")
}

// length is from the athlete's first to her last day, months.
func length(m Member) float64 { return months(m.From, m.To) }
