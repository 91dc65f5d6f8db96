package page

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
)

// sheet is a reading in words and drawings, as the page shows it.
type sheet struct {
	Title   string `json:"title"`
	Lines   string `json:"lines"`
	Value   string `json:"value"`   // "163.5°"
	Plus    string `json:"plus"`    // "± 6.9"
	Between string `json:"between"` // "between 156.7 and 170.4 in 95 of 100 such readings"

	Verdict *verdict `json:"verdict"`
	Ruler   string   `json:"ruler"` // SVG
	Fan     fan      `json:"fan"`

	Budget      []part   `json:"budget"`
	NotIncluded string   `json:"not_included"`
	Advice      []string `json:"advice"`
	Notes       []string `json:"notes"`
	Cautions    []string `json:"cautions"`
	Command     string   `json:"command"` // that gives the same reading; "" where none does
}

// verdict is the reading against what is asked.
type verdict struct {
	Decision string `json:"decision"`
	Asked    string `json:"asked"`
	Say      string `json:"say"`
	Bands    []row  `json:"bands"`
	Origin   string `json:"origin"`
}

// row is one band, what meets first. Rank is that of its hatching, 0 plain.
type row struct {
	Rank   int    `json:"rank"`
	Label  string `json:"label"`
	Where  string `json:"where"`
	Chance string `json:"chance"`
	Likely bool   `json:"likely"`
}

// part is one source of the budget. Share is its length beside the largest.
type part struct {
	Words string  `json:"words"`
	How   string  `json:"how"`
	Deg   string  `json:"deg"`
	Share float64 `json:"share"`
}

func (s *Server) sheetOf(r *reading.Reading, q reading.Request) sheet {
	u := r.ExpandedUncertaintyDeg
	value, plus := uncertainty.Format(r.AngleDeg, u)
	lo, _ := uncertainty.Format(r.IntervalDeg[0], u)
	hi, _ := uncertainty.Format(r.IntervalDeg[1], u)
	raw, _ := uncertainty.Format(r.PictureAngleDeg, u)
	out := sheet{
		Title: q.Measure.Title + r.LegWords(), Lines: r.LinesWords(),
		Value: minus(value) + "°", Plus: "± " + plus,
		Between: fmt.Sprintf("between %s and %s in %.0f of 100 such readings; %s straight off the picture", minus(lo), minus(hi), 100*r.Coverage, minus(raw)),
		Ruler:   rulerOf(r), Fan: fanOf(r),
		Advice: all(r.Advice, unflagged), Notes: all(r.Notes, unflagged), Cautions: all(r.Cautions, unflagged),
	}
	if r.Peak == nil && q.Priors == nil { // a peak comes of more than one frame's marks, and a rater's own figure out of the journal
		out.Command = s.command(q)
	}
	if r.Verdict != nil {
		out.Verdict = s.verdictOf(r)
	}
	out.Budget = s.budgetOf(r)
	out.NotIncluded = strings.Join(all(r.NotIncluded, s.config.Source), "; ")
	return out
}

func (s *Server) verdictOf(r *reading.Reading) *verdict {
	v := r.Verdict
	free := 0.0
	if len(v.Bands) > 0 {
		free = max(0, v.Bands[0].FromDeg)
	}
	out := &verdict{Decision: string(v.Decision), Say: minus(r.Say()), Asked: fmt.Sprintf("%g°", r.Skill.ThresholdDeg)}
	word := "short"
	switch {
	case r.Skill.AtMost:
		word, out.Asked = "off", fmt.Sprintf("at most %g°", r.Skill.ThresholdDeg+free)
	case free > 0:
		out.Asked = fmt.Sprintf("%g°, to %g short is free", r.Skill.ThresholdDeg, free)
	}
	out.Bands = append(out.Bands, row{Label: "meets it", Chance: reading.Percent(v.MeetsProbability)})
	likely, most := 0, v.MeetsProbability
	for i, b := range v.Bands {
		w := row{Rank: i + 1, Label: dashed(b.Deduction), Chance: reading.Percent(b.Probability), Where: fmt.Sprintf("over %g %s", b.FromDeg, word)}
		if b.ToDeg != nil {
			w.Where = fmt.Sprintf("%g–%g %s", b.FromDeg, *b.ToDeg, word)
		}
		if w.Label == "" {
			w.Label = b.Label
			if len(v.Bands) == 1 && b.FromDeg == 0 && b.ToDeg == nil {
				w.Where = "" // the label says it
			}
		}
		if b.Probability > most {
			likely, most = i+1, b.Probability
		}
		out.Bands = append(out.Bands, w)
	}
	out.Bands[likely].Likely = true
	out.Origin = r.Skill.Rulebook + "/" + r.Skill.Name
	if e := r.Skill.Edition; e != "" && e != "none" {
		out.Origin += ", " + e
	}
	out.Origin += ": " + s.config.Provenance(r.Skill.Provenance)
	return out
}

// budgetOf is the budget, the largest source first; what is under a hundredth of
// a degree is left to the file.
func (s *Server) budgetOf(r *reading.Reading) []part {
	const least = 0.01
	rows := slices.Clone(r.Budget)
	slices.SortStableFunc(rows, func(a, b reading.BudgetRow) int {
		return int(math.Copysign(1, b.StandardUncertaintyDeg-a.StandardUncertaintyDeg))
	})
	out := []part{}
	for _, b := range rows {
		u := b.StandardUncertaintyDeg
		if math.Abs(u) < least || b.Source == uncertainty.Interaction && math.Abs(b.Share) < least {
			continue
		}
		out = append(out, part{s.config.Source(b.Source), unflagged(b.How), minus(fmt.Sprintf("%.2f°", u)), max(0, u/rows[0].StandardUncertaintyDeg)})
	}
	return out
}
