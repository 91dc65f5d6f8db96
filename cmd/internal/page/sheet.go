package page

import (
	"cmp"
	"fmt"
	"image"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
)

// sheet is a reading in words and drawings, as the page shows it.
type sheet struct {
	Title   string `json:"title"`
	Lines   string `json:"lines"`
	Value   string `json:"value"`   // "163.5°"
	Plus    string `json:"plus"`    // "± 6.9"
	Between string `json:"between"` // "the true angle lies between 156 and 171, 95 % sure; ..."

	Verdict *verdict `json:"verdict"`
	Knees   []string `json:"knees"`  // what the marks of the knees say beside the whole legs
	Beside  []string `json:"beside"` // other angles that the marks show
	Ruler   string   `json:"ruler"`  // SVG
	Fan     fan      `json:"fan"`
	Part    [4]int   `json:"part"` // the part of the frame that shows the athlete, px: x, y, width, height

	Budget      []budgetRow `json:"budget"`
	NotIncluded string      `json:"not_included"`
	Advice      []string    `json:"advice"`
	Notes       []string    `json:"notes"`
	Cautions    []string    `json:"cautions"`
	Command     string      `json:"command"` // the command that gives the same reading; "" for none
}

// verdict is the reading against what is asked.
type verdict struct {
	Decision string    `json:"decision"`
	Asked    string    `json:"asked"` // "" where no angle is asked
	Says     []string  `json:"says"`  // the band, then the degrees or the ratio
	Bands    []bandRow `json:"bands"`
	Origin   string    `json:"origin"`
}

// bandRow is one outcome: what meets, then each band. Rank chooses the hatching; 0 is plain.
type bandRow struct {
	Rank   int    `json:"rank"`
	Label  string `json:"label"`
	Where  string `json:"where"`
	Chance string `json:"chance"`
	Likely bool   `json:"likely"`
}

// budgetRow is one source of the budget. Share is its uncertainty over the largest, 0 to 1.
type budgetRow struct {
	Words string  `json:"words"`
	How   string  `json:"how"`
	Deg   string  `json:"deg"`
	Share float64 `json:"share"`
}

func (s *Server) sheetOf(r *reading.Reading, q reading.Request) sheet {
	raw, _ := uncertainty.Format(r.PictureAngleDeg, r.ExpandedUncertaintyDeg)
	value, plus := valueAndPlus(r)
	out := sheet{
		Title: q.Measure.Title + r.LegWords(), Lines: r.LinesWords(),
		Value: value, Plus: plus,
		Between: minus(r.BetweenWords() + fmt.Sprintf("; %s straight off the picture", raw)),
		Ruler:   rulerOf(r, [2]float64{}), Fan: fanOf(r), Part: corners(figure.Around(r, image.Pt(r.Take.WidthPx, r.Take.HeightPx), 0.72)),
		Knees: all(r.KneeWords(), minus), Beside: all(r.BesideWords(), minus),
		Advice: append([]string{}, r.Advice...), Notes: append([]string{}, r.Notes...), Cautions: append([]string{}, r.Cautions...),
	}
	if r.Peak == nil && q.Priors == nil && q.Lens == nil { // a peak uses the marks of several frames, and a rater's own figure is in the journal
		out.Command = s.command(q)
	}
	if r.Verdict != nil {
		out.Verdict = s.verdictOf(r)
	} else if j := r.Judged(); j != nil {
		out.Verdict = judgedOf(j)
	}
	out.Budget = s.budgetOf(r)
	out.NotIncluded = strings.Join(all(r.NotIncluded, func(source string) string {
		if source == reading.SourceTiming && r.Moment != nil {
			return desk.SourceWords(source) + " (" + r.Moment.MissedWords() + ")"
		}
		return desk.SourceWords(source)
	}), "; ")
	return out
}

// valueAndPlus returns an angle and its expanded uncertainty, such as "163.5°" and "± 6.9".
func valueAndPlus(r *reading.Reading) (value, plus string) {
	value, plus = uncertainty.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
	return minus(value) + "°", "± " + plus
}

func (s *Server) verdictOf(r *reading.Reading) *verdict {
	v := r.Verdict
	out := &verdict{Decision: string(v.Decision), Says: all(r.Says(), minus), Asked: minus(r.AskedWords())}
	word := "short"
	if r.Skill.AtMost {
		word = "off"
	}
	met := r.Outcomes()[0]
	out.Bands = append(out.Bands, bandRow{Label: met.Words, Chance: reading.Percent(met.Probability)})
	likely, most := 0, met.Probability
	for i, b := range v.Bands {
		w := bandRow{Rank: i + 1, Label: dashed(b.Deduction), Chance: reading.Percent(b.Probability), Where: fmt.Sprintf("over %g %s", b.FromDeg, word)}
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
	out.Origin += ": " + desk.ProvenanceWords(r.Skill.Provenance)
	return out
}

// judgedOf is the outcome of a rule about a ratio of lengths.
func judgedOf(j *reading.Proportion) *verdict {
	out := &verdict{Says: all(j.Says(), minus), Origin: j.Rule.RuleWords() + ": " + desk.ProvenanceWords(j.Rule.Provenance)}
	likely := 0
	for i, b := range j.Outcomes() {
		out.Bands = append(out.Bands, bandRow{Label: cmp.Or(dashed(b.Deduction), b.Label), Where: dashed(b.Where()) + " shoulder widths", Chance: reading.Percent(b.Probability)})
		if b.Probability > j.Outcomes()[likely].Probability {
			likely = i
		}
	}
	out.Bands[likely].Likely = true
	return out
}

// budgetOf lists the sources of the budget, the largest first. Sources below 0.01
// degrees and the interaction of sources stand only in the saved reading.
func (s *Server) budgetOf(r *reading.Reading) []budgetRow {
	const least = 0.01
	rows := slices.Clone(r.Budget)
	slices.SortStableFunc(rows, func(a, b reading.BudgetRow) int {
		return int(math.Copysign(1, b.StandardUncertaintyDeg-a.StandardUncertaintyDeg))
	})
	out := []budgetRow{}
	for _, b := range rows {
		u := b.StandardUncertaintyDeg
		if math.Abs(u) < least || b.Source == uncertainty.Interaction {
			continue
		}
		out = append(out, budgetRow{desk.SourceWords(b.Source), b.How, minus(fmt.Sprintf("%.2f°", u)), max(0, u/rows[0].StandardUncertaintyDeg)})
	}
	return out
}

// fan is the angle as it is drawn over the picture, in pixels of the take: SVG path data.
type fan struct {
	Sector   string    `json:"sector"`  // from the first line to the second
	Edge     string    `json:"edge"`    // the sector's arc
	Arms     []string  `json:"arms"`    // the two lines
	Wedges   []string  `json:"wedges"`  // the interval, around the lines at which the angle ends
	Asked    []string  `json:"asked"`   // where those lines would be at the angle asked
	Carried  string    `json:"carried"` // the first line extended, if the two share no end
	Ellipses []ellipse `json:"ellipses"`
}

// ellipse is the 95 % region of a landmark, pixels of the take. Tilt is in degrees,
// clockwise as seen, as SVG turns.
type ellipse struct {
	Landmark string  `json:"landmark"`
	X        float64 `json:"x"`
	Y        float64 `json:"y"`
	Long     float64 `json:"long"`
	Short    float64 `json:"short"`
	Tilt     float64 `json:"tilt"`
}

// fanOf returns the fan of a reading. A reading without an interval has no wedges.
func fanOf(r *reading.Reading) fan {
	f := draw.NewFan(r, func(x, y float64) draw.Point { return draw.Point{X: x, Y: y} }, 0, math.Inf(1))
	sector := f.Sector()
	out := fan{
		Sector: draw.PathData(true, sector), Edge: draw.PathData(false, sector[1:]),
		Arms: []string{}, Wedges: []string{}, Asked: []string{}, Ellipses: []ellipse{},
	}
	for _, a := range f.Arms {
		out.Arms = append(out.Arms, draw.PathData(false, []draw.Point{a.From, a.To}))
	}
	for _, w := range f.Wedges {
		out.Wedges = append(out.Wedges, draw.PathData(true, f.Slice(w)))
	}
	for _, a := range f.Asked {
		out.Asked = append(out.Asked, draw.PathData(false, a[:]))
	}
	if f.Carried != nil {
		out.Carried = draw.PathData(false, f.Carried[:])
	}
	for _, m := range r.Marks {
		out.Ellipses = append(out.Ellipses, ellipseOf(m))
	}
	return out
}

// ellipseOf returns an ellipse of size 0 if the mark's covariance has no ellipse.
func ellipseOf(m reading.Mark) ellipse {
	e, _ := draw.EllipseOf(m)
	return ellipse{m.Landmark, m.X, m.Y, e.Long, e.Short, e.Tilt * 180 / math.Pi}
}
