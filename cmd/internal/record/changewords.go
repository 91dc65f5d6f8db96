package record

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/chart"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/movement"
)

// KindWords returns which readings a trend consists of; day formats a day.
func KindWords(t *change.Trend, day func(time.Time) string) string {
	var parts []string
	for _, p := range []string{movement.VariantWords(t.Measure, t.Variant), t.Side, t.Condition, t.State} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	n := 0
	for _, d := range t.Days {
		n += len(d.Readings)
	}
	parts = append(parts, desk.Count(n, "reading")+" on "+desk.Count(len(t.Days), "day"))
	first, last := t.Days[0].Day, t.Days[len(t.Days)-1].Day
	if len(t.Days) == 1 {
		return strings.Join(append(parts, day(first)), ", ")
	}
	return strings.Join(append(parts, day(first)+" to "+day(last)), ", ")
}

// LeftOutWords returns which readings were not used, grouped by reason, the first kept first.
func LeftOutWords(left []change.LeftOut) (out []string) {
	const most = 6 // numbers that are named
	ids := map[string][]int64{}
	var order []string
	for _, l := range left {
		if ids[l.Why] == nil {
			order = append(order, l.Why)
		}
		ids[l.Why] = append(ids[l.Why], l.ID)
	}
	for _, why := range order {
		n := ids[why]
		slices.Sort(n)
		var named []string
		for _, id := range n[:min(most, len(n))] {
			named = append(named, fmt.Sprint(id))
		}
		if len(n) > most {
			named = append(named, "...")
		}
		out = append(out, fmt.Sprintf("not used: %s (%s): %s", desk.Count(len(n), "reading"), strings.Join(named, ", "), why))
	}
	return out
}

// AllNotes returns the notes of all trends, each once, with the sides if not all trends have it, what was
// left out, and the notes of the change.
func (c *Change) AllNotes() (out []string) {
	var all []string
	sides := map[string][]string{} // the sides that have a note
	for _, t := range c.Trends {
		for _, n := range append(slices.Clone(t.Notes), LeftOutWords(t.LeftOut)...) {
			if sides[n] == nil {
				all = append(all, n)
			}
			sides[n] = append(sides[n], t.Side)
		}
	}
	for _, n := range all {
		if len(sides[n]) < len(c.Trends) {
			n = strings.Join(sides[n], ", ") + ": " + n
		}
		out = append(out, n)
	}
	return append(out, c.Notes...)
}

// StepWords returns one difference within a session; what names the two states.
func StepWords(what string, s *change.Step) string {
	head := s.Day.Format(time.DateOnly)
	if s.Session != "" {
		head += " " + s.Session
	}
	return fmt.Sprintf("%s: %s %s, %s", head, what, desk.SignedPlusMinus(s.ChangeDeg, s.SmallestDeg), desk.RealWords(s.Real, s.SmallestDeg))
}

// Chart draws the months.
func (c *Change) Chart(opt chart.Options) (*chart.Drawing, error) {
	return chart.Change(chart.ChangeData{Who: c.Athlete, Measure: c.Measure, Trends: c.Trends, Readings: c.Readings, Sides: c.Sides, Statures: chartStatures(c.Statures)}, opt)
}

// DrawMonths returns the drawings of the months as SVG, widthMM wide, without heading: one, or
// one of each trend where there are more than a drawing holds.
func (c *Change) DrawMonths(widthMM float64) (out []string, err error) {
	opt := chart.Options{WidthMM: widthMM, Bare: true}
	parts := []*Change{c}
	if len(c.Trends) > 2 {
		parts = nil
		for _, t := range c.Trends {
			one := &Change{Athlete: c.Athlete, Measure: c.Measure, Statures: c.Statures, Trends: []*change.Trend{t}}
			for _, r := range c.Readings {
				if r.Side == t.Side {
					one.Readings = append(one.Readings, r)
				}
			}
			parts = append(parts, one)
		}
	}
	for _, p := range parts {
		d, err := p.Chart(opt)
		if err != nil {
			return nil, err
		}
		svg, err := svgOf(d)
		if err != nil {
			return nil, err
		}
		out = append(out, svg)
	}
	return out, nil
}

// Draw returns the screen of a side as SVG, widthMM wide, without heading.
func (s *SideScreen) Draw(who string, widthMM float64) (string, error) {
	d, err := chart.Screen(chart.ScreenData{Who: who, Screen: s.Screen}, chart.Options{WidthMM: widthMM, Bare: true})
	if err != nil {
		return "", err
	}
	return svgOf(d)
}

// DrawContrast draws the contrast of one side as SVG.
func DrawContrast(c *change.Contrast, who string, widthMM float64) (string, error) {
	d, err := chart.Contrast(chart.ContrastData{Who: who, Contrast: c}, chart.Options{WidthMM: widthMM, Bare: true})
	if err != nil {
		return "", err
	}
	return svgOf(d)
}

// svgOf returns a drawing as SVG text.
func svgOf(d *chart.Drawing) (string, error) {
	var b strings.Builder
	err := d.SVG(&b)
	return b.String(), err
}
