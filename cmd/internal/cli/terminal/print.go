package terminal

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
	"ecart/geometry/uncertainty"
	"ecart/vision/take"
)

// PrintReading prints a reading, narrow enough for a phone.
func PrintReading(w io.Writer, r *reading.Reading, q reading.Request) error {
	var p Printer
	p.Wrap("écart  ", q.Measure.Title+r.LegWords())
	p.Wrap("", takeWords(r, q.Still))
	p.Wrap("", r.LinesWords())
	p.Line("")
	p.angle(r)
	if r.Verdict != nil {
		p.verdict(r)
	} else if j := r.Judged(); j != nil {
		p.judged(j)
	}
	p.beside(r)
	p.budget(r)
	for _, a := range r.Advice[:min(1, len(r.Advice))] {
		p.Wrap("do next: ", a)
	}
	for _, n := range r.Notes {
		p.Wrap("noted:   ", n)
	}
	for _, c := range r.ChiefCautions() {
		p.Wrap("caution: ", c)
	}
	return p.Print(w)
}

func takeWords(r *reading.Reading, still bool) string {
	if still {
		return r.Take.Name + ", a still"
	}
	return fmt.Sprintf("%s, frame %d, %.3f s", r.Take.Name, r.Take.Frame, r.Take.TimeS)
}

func (p *Printer) angle(r *reading.Reading) {
	u := r.ExpandedUncertaintyDeg
	value, plus := uncertainty.Format(r.AngleDeg, u)
	raw, _ := uncertainty.Format(r.PictureAngleDeg, u)
	p.Line("  %s° ± %s", value, plus)
	p.Wrap("  ", r.BetweenWords()+fmt.Sprintf("; %s straight off the picture", raw))
	p.Line("")
}

// verdict adds the reading against the skill: in words, on the ruler, and the probability of
// each band beside its shade on the ruler.
func (p *Printer) verdict(r *reading.Reading) {
	v := r.Verdict
	p.Wrap("", "against what is asked: "+r.AskedWords())
	for _, say := range r.Says() {
		p.Wrap("  ", say)
	}
	for _, row := range ruler(r, PrintWidth-2) {
		p.Line("  %s", row)
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
	p.Wrap("  ", fmt.Sprintf("%s/%s%s: %s", r.Skill.Rulebook, r.Skill.Name, edition, desk.ProvenanceWords(r.Skill.Provenance)))
	p.Line("")
}

// judged adds a ratio of lengths against a rule.
func (p *Printer) judged(j *reading.Proportion) {
	p.Wrap("", "against the rule for legs apart, in shoulder widths")
	for _, say := range j.Says() {
		p.Wrap("  ", say)
	}
	for _, b := range j.Outcomes() {
		p.row(" ", cmp.Or(b.Deduction, b.Label), b.Where(), b.Probability)
	}
	p.Wrap("  ", j.Rule.RuleWords()+": "+desk.ProvenanceWords(j.Rule.Provenance))
	p.Line("")
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

// beside adds the other angles that the marks show.
func (p *Printer) beside(r *reading.Reading) {
	for _, part := range []struct {
		title string
		says  []string
	}{{"the knees", r.KneeWords()}, {"also from these marks", r.BesideWords()}} {
		if len(part.says) == 0 {
			continue
		}
		p.Line("%s", part.title)
		for _, say := range part.says {
			p.Wrap("  ", say)
		}
		p.Line("")
	}
}

// row adds one line of the table of bands; the start of a label that is too long goes above it.
func (p *Printer) row(shade, label, where string, probability float64) {
	const wide = PrintWidth - len("  s ") - len(" over 99 %")
	room := wide - utf8.RuneCountInString(where)
	if where != "" {
		room--
	}
	rows := Broken(label, room)
	if len(rows) > 1 && where != "" {
		rows = append(Broken(label, wide), "")
	}
	for i, text := range rows {
		if i < len(rows)-1 {
			p.Line("  %s %s", shade, text)
			shade = " "
			continue
		}
		pad := max(1, wide-utf8.RuneCountInString(text)-utf8.RuneCountInString(where))
		p.Line("  %s %s%s%s %9s", shade, text, strings.Repeat(" ", pad), where, reading.Percent(probability))
	}
}

// budget adds the table of sources, largest first. Sources under a hundredth of a degree and
// interactions are in --json only.
func (p *Printer) budget(r *reading.Reading) {
	const (
		bar   = 13
		least = 0.01 // degrees
	)
	rows := slices.Clone(r.Budget)
	slices.SortStableFunc(rows, func(a, b reading.BudgetRow) int {
		return int(math.Copysign(1, b.StandardUncertaintyDeg-a.StandardUncertaintyDeg))
	})
	p.Line("what makes it uncertain (one sd, in degrees)")
	for _, row := range rows {
		u := row.StandardUncertaintyDeg
		if math.Abs(u) < least || row.Source == uncertainty.Interaction {
			continue
		}
		n := int(math.Round(bar * u / rows[0].StandardUncertaintyDeg))
		p.Line("  %-23s %6.2f  %s", desk.SourceWords(row.Source), u, strings.Repeat("▪", max(0, n)))
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
		p.Wrap("  ", "not included: "+strings.Join(out, "; "))
	}
	p.Line("")
}

func PrintJSON(w io.Writer, v any) error {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return err
	}
	_, err := w.Write(output.EscapeJSON(b.Bytes()))
	return err
}

// PrintWarnings writes the warnings of a take, one per line.
func PrintWarnings(w io.Writer, info take.Info) {
	for _, warning := range info.Warnings {
		fmt.Fprintln(w, OneLine(info.Name+": "+warning))
	}
}

// TitleOf returns the printed name of a measure.
func TitleOf(measure string) string {
	if m, ok := geometry.Lookup(measure); ok {
		return m.Title
	}
	return measure
}
