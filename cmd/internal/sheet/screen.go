package sheet

import (
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/reading"
)

// ScreenInput is the screen of one day, of one side or of both.
type ScreenInput struct {
	Who     string
	Measure string
	Title   string // of the movement, if it is not the measure itself
	Screens []SideScreen
	Notes   []string
}

// SideScreen is the screen of one side, "" if no side was given.
type SideScreen struct {
	Side   string
	Screen *change.Screen
}

type screenPage struct {
	W       *screenWords
	Sides   []screenSide
	Looks   []lookRow
	Columns int
	Notes   []string
	Cares   []string
}

type screenSide struct {
	Tight bool // there are two sides, one with four lanes: the drawings are smaller and the lists shorter
	Title string
	Say   string
	Chart template.HTML
	Rows  []gapRow
}

type gapRow struct{ Name, Between, Deg, There string }

// lookRow says where to look next for a gap.
type lookRow struct {
	Gap, Means string
	At         []string
}

// mostTight is the number of places to look at for a gap, on a page with four lanes for two sides.
const mostTight = 3

// WriteScreen writes a page on where the missing degrees are.
func WriteScreen(w io.Writer, in ScreenInput, opt Options) error {
	s, who, err := coachSetting(opt)
	if err != nil {
		return err
	}
	if len(in.Screens) == 0 || in.Screens[0].Screen == nil {
		return problem("read at least two of passive, active and in-skill on one day", "there is no screen to put on a page")
	}
	if who != Coach {
		return s.plainScreen(w, in, who)
	}
	t := &s.kind().screen
	p := screenPage{W: t}
	addNote := func(n string) {
		if n = s.sentence(n); n != "" && !slices.Contains(p.Notes, n) && len(p.Notes) < mostNotes {
			p.Notes = append(p.Notes, n)
		}
	}
	tight := len(in.Screens) > 1 && slices.ContainsFunc(in.Screens, func(s SideScreen) bool { return len(s.Screen.Levels) > 3 })
	for _, one := range in.Screens {
		k := one.Screen
		d, err := chart.Screen(chart.ScreenData{Who: in.Who, Screen: k}, s.chartOptions(s.widthMM()))
		side := screenSide{Tight: tight, Say: s.sentence(k.Sentence)}
		if side.Chart, err = s.chartSVG(d, err); err != nil {
			return err
		}
		if one.Side != "" {
			side.Title = fmt.Sprintf(t.side, one.Side)
		}
		for i := range k.Gaps {
			if len(in.Screens) > 1 {
				break // with two sides there is no room to repeat the drawing in a table
			}
			g := &k.Gaps[i]
			side.Rows = append(side.Rows, gapRow{g.Name, fmt.Sprintf(t.fromTo, g.From, g.To), s.plusMinus(g.Deg, halfWidth(g.IntervalDeg)), reading.Percent(g.RealProbability)})
		}
		p.Sides = append(p.Sides, side)
		for _, l := range k.LooksAt {
			if !slices.ContainsFunc(p.Looks, func(o lookRow) bool { return o.Gap == l.Gap }) {
				at := l.At
				if tight {
					at = at[:min(len(at), mostTight)]
				}
				p.Looks = append(p.Looks, lookRow{l.Gap, l.Means, at})
			}
		}
		for _, n := range k.Notes {
			addNote(n)
		}
	}
	for _, n := range in.Notes {
		addNote(n)
	}
	for _, c := range in.Screens[0].Screen.Cautions {
		p.Cares = append(p.Cares, s.sentence(c))
	}
	p.Columns = max(1, len(p.Looks))
	facts := []string{in.Who, s.dateOf(in.Screens[0].Screen.Day), s.takesOf(in)}
	what := lookup(s.measure, in.Measure)
	if in.Title != "" {
		what = in.Title
	}
	return s.writePage(w, "screen", what, t.title, facts, p)
}

// takesOf returns the number of takes of a screen, in words.
func (s *setting) takesOf(in ScreenInput) string {
	n := 0
	for _, one := range in.Screens {
		for _, l := range one.Screen.Levels {
			n += l.Takes
		}
	}
	if n == 1 {
		return s.kind().screen.take
	}
	return fmt.Sprintf(s.kind().screen.takes, n)
}

func (s *setting) plainScreen(w io.Writer, in ScreenInput, who Audience) error {
	t := s.kind().plain[who]
	p := plainKindPage{W: s.words.plain[who], Key: t.key["levels"] + " " + t.key["asked"], Cannot: t.cannotScreen, Care: s.plainCare(who, in.Measure)}
	first := in.Screens[0].Screen
	var rows []levelRow
	ways := map[string]bool{}
	for _, one := range in.Screens {
		for _, l := range one.Screen.Levels {
			name := lookup(t.condition, l.Condition)
			if len(in.Screens) > 1 {
				name = fmt.Sprintf(t.sided, one.Side, name)
			}
			ways[l.Condition] = true
			rows = append(rows, levelRow{name, l.AngleDeg, l.IntervalDeg})
		}
	}
	p.Says = append(p.Says, fmt.Sprintf(t.screen, s.whatShows(who, in.Measure), s.dateOf(first.Day), s.number(float64(len(ways)), 0)))
	for _, one := range in.Screens {
		for _, sentence := range s.missing(one.Screen, t) {
			if len(in.Screens) > 1 {
				sentence = fmt.Sprintf(t.side, capital(one.Side)) + lower(sentence)
			}
			p.Says = append(p.Says, sentence)
		}
	}
	asked := first.AskedDeg
	words := t.askedLine
	if first.AtMost {
		words = t.askedMost
	}
	p.Charts = []template.HTML{s.levels(rows, &asked, fmt.Sprintf(words, s.plainDeg(asked)))}
	return s.writePage(w, "plainkind", lookup(s.measure, in.Measure), t.screenTitle, []string{in.Who, s.dateOf(first.Day)}, p)
}

// missing returns sentences in plain words: how much is missing of the angle asked, and
// where most of it is.
func (s *setting) missing(k *change.Screen, t plainKindWords) []string {
	asked := s.plainDeg(k.AskedDeg)
	if k.AtMost {
		asked = fmt.Sprintf(t.allows, asked)
	} else {
		asked = fmt.Sprintf(t.screenAsks, asked)
	}
	deg := math.Round(k.Missing.Deg)
	switch {
	case k.Missing.To != "in-skill":
		return []string{asked}
	case deg <= 0 && k.AtMost:
		return []string{asked + " " + t.inside}
	case deg <= 0:
		return []string{fmt.Sprintf(t.nothing, s.plainDeg(k.AskedDeg))}
	}
	out := []string{strings.TrimSuffix(asked, ".") + fmt.Sprintf(t.missing, s.number(deg, 0), s.number(math.Ceil(max(k.Missing.IntervalDeg[1]-deg, deg-k.Missing.IntervalDeg[0])), 0))}
	if k.Missing.IntervalDeg[0] <= 0 { // the missing angle may be zero
		out[0] = asked + " " + t.unsure
		return out
	}
	if k.Largest != "" {
		return append(out, t.lost[k.Largest])
	}
	for _, g := range k.Gaps {
		if g.LargestProbability != nil {
			return append(out, t.lostUnknown)
		}
	}
	return out
}
