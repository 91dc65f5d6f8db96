package cli

import (
	"fmt"
	"io"
	"math"
	"strings"

	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
)

// printWidth is that of a phone's terminal.
const printWidth = 48

// printer writes lines no wider than a phone's screen.
type printer struct{ b strings.Builder }

// line writes one line as it is.
func (p *printer) line(format string, a ...any) { fmt.Fprintf(&p.b, format+"\n", a...) }

// wrap writes text broken between words, the first line behind head.
func (p *printer) wrap(head, text string) {
	indent := strings.Repeat(" ", len([]rune(head)))
	row := head
	width := len([]rune(row))
	empty := true
	for _, w := range strings.Fields(text) {
		n := len([]rune(w))
		if !empty && width+1+n > printWidth {
			p.line("%s", row)
			row, width, empty = indent, len([]rune(indent)), true
		}
		if !empty {
			row, width = row+" ", width+1
		}
		row, width, empty = row+w, width+n, false
	}
	p.line("%s", row)
}

// printReading is a reading for a phone's screen.
func printReading(w io.Writer, r *reading.Reading, q reading.Request) error {
	var p printer
	p.line("écart  %s%s", q.Measure.Title, legWords(r, q))
	p.wrap("", takeWords(r))
	p.line("")
	v, u := uncertainty.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
	lo, _ := uncertainty.Format(r.IntervalDeg[0], r.ExpandedUncertaintyDeg)
	hi, _ := uncertainty.Format(r.IntervalDeg[1], r.ExpandedUncertaintyDeg)
	p.line("  %s° ± %s", v, u)
	p.line("  between %s and %s in %.0f of 100 such", lo, hi, 100*r.Coverage)
	p.line("  readings; %.1f straight off the picture", r.PictureAngleDeg)
	p.line("")
	if r.Verdict != nil {
		p.verdict(r)
	}
	p.budget(r)
	for _, a := range r.Advice[:min(1, len(r.Advice))] {
		p.wrap("do next: ", a)
	}
	for _, c := range r.Cautions[:min(1, len(r.Cautions))] {
		p.wrap("caution: ", c)
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

func legWords(r *reading.Reading, q reading.Request) string {
	for _, l := range r.Lines {
		switch {
		case strings.HasSuffix(l.To, "ankle") && q.Measure.Name == "hip-split":
			return ", whole leg"
		case strings.HasSuffix(l.To, "knee") && strings.HasSuffix(l.From, "hip") && q.Measure.Name != "knee-bend":
			return ", thigh"
		}
	}
	return ""
}

func takeWords(r *reading.Reading) string {
	return fmt.Sprintf("%s, frame %d, %.3f s", r.Take.Name, r.Take.Frame, r.Take.TimeS)
}

func (p *printer) verdict(r *reading.Reading) {
	p.line("against what is asked: %g°%s", r.Skill.ThresholdDeg, map[bool]string{true: " at most", false: ""}[r.Skill.AtMost])
	p.wrap("  ", r.Say())
	for _, row := range ruler(r, printWidth-2) {
		p.line("  %s", row)
	}
	p.line("  %-22s %8s", "meets it", reading.Percent(r.Verdict.MeetsProbability))
	for _, b := range r.Verdict.Bands {
		label := b.Deduction
		if label == "" {
			label = b.Label
		}
		end := fmt.Sprintf("%g-%g short", b.FromDeg, deref(b.ToDeg))
		if b.ToDeg == nil {
			end = fmt.Sprintf("over %g short", b.FromDeg)
		}
		if len([]rune(label)) > 10 {
			p.wrap("  ", label)
			label = ""
		}
		p.line("  %-10s %-11s %8s", label, end, reading.Percent(b.Probability))
	}
	p.wrap("  ", fmt.Sprintf("%s/%s, %s: %s", r.Skill.Rulebook, r.Skill.Name, r.Skill.Edition, words(provenanceWords, r.Skill.Provenance)))
	p.line("")
}

func deref(f *float64) float64 {
	if f == nil {
		return math.Inf(1)
	}
	return *f
}

// budget is the table of sources, largest first; what is under a hundredth of
// a degree is left to --json.
func (p *printer) budget(r *reading.Reading) {
	p.line("what makes it uncertain, in degrees (k = 1)")
	const bar = 14
	most := 0.0
	for _, row := range r.Budget {
		most = math.Max(most, row.StandardUncertaintyDeg)
	}
	for _, row := range r.Budget {
		if math.Abs(row.StandardUncertaintyDeg) < 0.01 || row.Source == uncertainty.Interaction && math.Abs(row.Share) < 0.01 {
			continue
		}
		n := int(math.Ceil(bar * math.Max(0, row.StandardUncertaintyDeg) / most))
		p.line("  %-23s %5.2f  %s", words(sourceWords, row.Source), row.StandardUncertaintyDeg, strings.Repeat("▪", n))
	}
	var out []string
	for _, s := range r.NotIncluded {
		out = append(out, words(sourceWords, s))
	}
	if len(out) > 0 {
		p.wrap("  ", "not included: "+strings.Join(out, "; "))
	}
	p.line("")
}
