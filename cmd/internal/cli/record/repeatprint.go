package record

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
)

// printRepeat prints how repeatable marks are, narrow enough for a phone.
func printRepeat(w io.Writer, r *desk.Repeat, kept bool) error {
	var p terminal.Printer
	title := ""
	if r.Measure != "" {
		title = terminal.TitleOf(r.Measure) + ", "
	}
	p.Wrap("écart  ", title+"marked again")
	p.Wrap("", repeatKind(r))
	p.Line("")
	if r.Placement != nil {
		printPlacing(&p, r)
		p.Line("")
	}
	if r.Repeatability != nil {
		printAngles(&p, r)
		p.Line("")
	}
	for i := range r.Agreements {
		p.Wrap("", agreeWords(&r.Agreements[i]))
	}
	if len(r.Agreements) > 0 {
		p.Line("")
	}
	switch {
	case len(r.Kept) > 0:
		p.Wrap("", fmt.Sprintf(wordsKept, strings.Join(r.Kept, ", ")))
	case !kept && r.Placement != nil:
		p.Wrap("do next: ", wordsKeep)
	}
	for _, n := range r.Notes {
		p.Wrap("noted:   ", n)
	}
	return p.Print(w)
}

// printPlacing prints the standard deviations of placing: by rater, over all, by landmark.
func printPlacing(p *terminal.Printer, r *desk.Repeat) {
	p.Line(wordsPlacing)
	row := func(name string, s change.Spread) {
		p.Wrap(fmt.Sprintf("  %-16s ", name), spreadWords(wordsPixels, s.SD, s.Interval))
	}
	for _, f := range r.Raters {
		if f.PlacementPx != nil {
			row(f.Name, *f.PlacementPx)
		}
	}
	if len(r.Placement.ByRater) > 1 {
		row(wordsOverRaters, r.Placement.Within)
	}
	if b := r.Placement.BetweenPx; b != nil {
		p.Line("  %-16s %.2g px", wordsApart, *b)
	}
	for _, l := range slices.Sorted(maps.Keys(r.Placement.ByLandmark)) {
		row("· "+l, r.Placement.ByLandmark[l])
	}
}

// printAngles prints the errors of the angle: of each rater, within and between raters.
func printAngles(p *terminal.Printer, r *desk.Repeat) {
	p.Line(wordsAngles)
	row := func(name string, e *change.Error) {
		if e == nil {
			return
		}
		p.Wrap("  ", name)
		for _, text := range errorWords(e) {
			p.Wrap("    ", text)
		}
	}
	twice := 0
	for _, f := range r.Raters {
		row(fmt.Sprintf(wordsAgain, f.Name), f.Angle)
		if f.Angle != nil {
			twice++
		}
	}
	if twice > 1 {
		row(wordsSameRater, r.Repeatability.Within)
	}
	row(wordsAnyRater, r.Repeatability.Between)
	if c := r.Repeatability.ICC; c != nil {
		p.Wrap("  ", fmt.Sprintf(wordsICC, c.OneWay))
	}
	for _, n := range r.Repeatability.Notes {
		p.Wrap("  ", n)
	}
}
