package cli

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
)

// printReading is a reading for a phone's screen.
func printReading(w io.Writer, r *reading.Reading, q reading.Request) error {
	var p printer
	p.wrap("écart  ", q.Measure.Title+r.LegWords())
	p.wrap("", takeWords(r, q.Still))
	p.wrap("", r.LinesWords())
	p.line("")
	p.angle(r)
	if r.Verdict != nil {
		p.verdict(r)
	}
	p.knees(r)
	p.budget(r)
	for _, a := range r.Advice[:min(1, len(r.Advice))] {
		p.wrap("do next: ", a)
	}
	for _, n := range r.Notes {
		p.wrap("noted:   ", n)
	}
	for _, c := range r.ChiefCautions() {
		p.wrap("caution: ", c)
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

func takeWords(r *reading.Reading, still bool) string {
	if still {
		return r.Take.Name + ", a still"
	}
	return fmt.Sprintf("%s, frame %d, %.3f s", r.Take.Name, r.Take.Frame, r.Take.TimeS)
}

func (p *printer) angle(r *reading.Reading) {
	u := r.ExpandedUncertaintyDeg
	value, plus := uncertainty.Format(r.AngleDeg, u)
	raw, _ := uncertainty.Format(r.PictureAngleDeg, u)
	p.line("  %s° ± %s", value, plus)
	p.wrap("  ", r.BetweenWords()+fmt.Sprintf("; %s straight off the picture", raw))
	p.line("")
}

// verdict is the reading against the skill: in words, on the ruler, and the
// probability of each band behind the shade it has on the ruler.
func (p *printer) verdict(r *reading.Reading) {
	v := r.Verdict
	p.wrap("", "against what is asked: "+r.AskedWords())
	for _, say := range r.Says() {
		p.wrap("  ", say)
	}
	for _, row := range ruler(r, printWidth-2) {
		p.line("  %s", row)
	}
	met := r.Outcomes()[0]
	p.row("─", met.Words, "", met.Probability)
	for i, b := range v.Bands {
		label := b.Deduction
		where := bandWords(b, r.Skill.AtMost)
		if label == "" {
			label = b.Label
			if len(v.Bands) == 1 && b.FromDeg == 0 && b.ToDeg == nil {
				where = "" // the label says it
			}
		}
		p.row(string(shade(i)), label, where, b.Probability)
	}
	edition := ""
	if e := r.Skill.Edition; e != "" && e != "none" {
		edition = ", " + e
	}
	p.wrap("  ", fmt.Sprintf("%s/%s%s: %s", r.Skill.Rulebook, r.Skill.Name, edition, desk.ProvenanceWords(r.Skill.Provenance)))
	p.line("")
}

func bandWords(b reading.BandProbability, atMost bool) string {
	word := "short"
	if atMost {
		word = "off"
	}
	if b.ToDeg == nil {
		return fmt.Sprintf("over %g %s", b.FromDeg, word)
	}
	return fmt.Sprintf("%g-%g %s", b.FromDeg, *b.ToDeg, word)
}

// knees are what the marks of the knees say beside the whole legs.
func (p *printer) knees(r *reading.Reading) {
	says := r.KneeWords()
	if len(says) == 0 {
		return
	}
	p.line("the knees")
	for _, say := range says {
		p.wrap("  ", say)
	}
	p.line("")
}

// row is one line of the table of bands; a label that is too long for it
// stands above.
func (p *printer) row(shade, label, where string, probability float64) {
	const wide = printWidth - len("  s ") - len(" over 99 %")
	room := wide - utf8.RuneCountInString(where)
	if where != "" {
		room--
	}
	rows := broken(label, room)
	if len(rows) > 1 && where != "" {
		rows = append(broken(label, wide), "")
	}
	for i, text := range rows {
		if i < len(rows)-1 {
			p.line("  %s %s", shade, text)
			shade = " "
			continue
		}
		pad := max(1, wide-utf8.RuneCountInString(text)-utf8.RuneCountInString(where))
		p.line("  %s %s%s%s %9s", shade, text, strings.Repeat(" ", pad), where, reading.Percent(probability))
	}
}

// budget is the table of sources, largest first; what is under a hundredth of
// a degree, and what the sources do together, is left to --json.
func (p *printer) budget(r *reading.Reading) {
	const (
		bar   = 13
		least = 0.01 // degrees
	)
	rows := slices.Clone(r.Budget)
	slices.SortStableFunc(rows, func(a, b reading.BudgetRow) int {
		return int(math.Copysign(1, b.StandardUncertaintyDeg-a.StandardUncertaintyDeg))
	})
	p.line("what makes it uncertain (one sd, in degrees)")
	for _, row := range rows {
		u := row.StandardUncertaintyDeg
		if math.Abs(u) < least || row.Source == uncertainty.Interaction {
			continue
		}
		n := int(math.Round(bar * u / rows[0].StandardUncertaintyDeg))
		p.line("  %-23s %6.2f  %s", desk.SourceWords(row.Source), u, strings.Repeat("▪", max(0, n)))
	}
	var out []string
	for _, s := range r.NotIncluded {
		w := desk.SourceWords(s)
		if s == reading.SourceTiming && r.Moment != nil {
			w += " (" + r.Moment.MissedWords() + ")"
		}
		out = append(out, w)
	}
	if len(out) > 0 {
		p.wrap("  ", "not included: "+strings.Join(out, "; "))
	}
	p.line("")
}
