package sheet

import (
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
)

// ContrastInput is a contrast of one day, of one side or of both.
type ContrastInput struct {
	Who   string
	Sides []*change.Contrast
	Notes []string
}

type contrastPage struct {
	W                 *contrastWords
	Sides             []contrastSide
	Separates, Source string
	Next, Cannot      []string
	Notes, Cares      []string
}

type contrastSide struct {
	Title, Say string
	Chart      template.HTML
}

// WriteContrast writes a page on two positions that differ in one thing, for a coach.
func WriteContrast(w io.Writer, in ContrastInput, opt Options) error {
	s, who, err := coachSetting(opt)
	if err != nil {
		return err
	}
	if len(in.Sides) == 0 || in.Sides[0] == nil {
		return problem("read an angle in both positions of a contrast on one day", "there is no contrast to put on a page")
	}
	if who != Coach {
		return problem("make it for a coach, who may show it to whoever examines the athlete", "a contrast has no page for this reader")
	}
	t := &s.kind().contrast
	first := in.Sides[0]
	p := contrastPage{W: t, Separates: s.sentence(first.Separates), Source: s.sentence(first.Source + ": " + first.Provenance)}
	addOnce := func(to *[]string, text string) {
		if text = s.sentence(text); text != "" && !slices.Contains(*to, text) {
			*to = append(*to, text)
		}
	}
	takes := 0
	for _, one := range in.Sides {
		d, err := chart.Contrast(chart.ContrastData{Who: in.Who, Contrast: one}, s.chartOptions(s.widthMM()))
		side := contrastSide{Say: s.sentence(one.Sentence)}
		if side.Chart, err = s.chartSVG(d, err); err != nil {
			return err
		}
		if one.Side != "" {
			side.Title = fmt.Sprintf(s.kind().screen.side, one.Side)
		}
		p.Sides = append(p.Sides, side)
		for _, l := range one.LooksAt {
			addOnce(&p.Next, l.Means+": "+strings.Join(l.At, ", "))
		}
		for _, n := range one.Notes {
			addOnce(&p.Notes, n)
		}
		takes += one.Taut.Takes + one.Slack.Takes
	}
	for _, n := range in.Notes {
		addOnce(&p.Notes, n)
	}
	for _, n := range first.Cannot {
		addOnce(&p.Cannot, n)
	}
	for _, c := range first.Cautions {
		addOnce(&p.Cares, c)
	}
	p.Notes = p.Notes[:min(len(p.Notes), mostNotes)]
	facts := []string{in.Who, s.dateOf(first.Day), fmt.Sprintf(s.kind().screen.takes, takes)}
	return s.writePage(w, "contrast", first.Title, t.title, facts, p)
}
