package cli

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/desk"
)

// printRepeat is how well frames were marked again, for a phone's screen.
func printRepeat(w io.Writer, r *desk.Repeat, kept bool) error {
	var p printer
	title := ""
	if r.Measure != "" {
		title = titleOf(r.Measure) + ", "
	}
	p.wrap("écart  ", title+"marked again")
	p.wrap("", repeatKind(r))
	p.line("")
	if r.Placement != nil {
		p.placing(r)
		p.line("")
	}
	if r.Repeatability != nil {
		p.angles(r)
		p.line("")
	}
	for i := range r.Agreements {
		p.wrap("", agreeWords(&r.Agreements[i]))
	}
	if len(r.Agreements) > 0 {
		p.line("")
	}
	switch {
	case len(r.Kept) > 0:
		p.wrap("", fmt.Sprintf(wordsKept, strings.Join(r.Kept, ", ")))
	case !kept && r.Placement != nil:
		p.wrap("do next: ", wordsKeep)
	}
	for _, n := range r.Notes {
		p.wrap("noted:   ", n)
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

// placing is the table of how well points are placed: by rater, over all, by
// landmark.
func (p *printer) placing(r *desk.Repeat) {
	p.line(wordsPlacing)
	row := func(name string, s change.Spread) {
		p.wrap(fmt.Sprintf("  %-16s ", name), spreadWords(wordsPixels, s.SD, s.Interval))
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
		p.line("  %-16s %.2g px", wordsApart, *b)
	}
	for _, l := range slices.Sorted(maps.Keys(r.Placement.ByLandmark)) {
		row("· "+l, r.Placement.ByLandmark[l])
	}
}

// angles are the errors of the angle: of each rater, of the same rater again, of
// whoever marks.
func (p *printer) angles(r *desk.Repeat) {
	p.line(wordsAngles)
	row := func(name string, e *change.Error) {
		if e == nil {
			return
		}
		p.wrap("  ", name)
		for _, text := range errorWords(e) {
			p.wrap("    ", text)
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
		p.wrap("  ", fmt.Sprintf(wordsICC, c.OneWay))
	}
	for _, n := range r.Repeatability.Notes {
		p.wrap("  ", n)
	}
}
