package reading

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ecart/cmd/internal/fault"
	"ecart/cmd/internal/text"
	"ecart/geometry"
	"ecart/geometry/uncertainty"
)

// ShoulderWidths is the ratio of lengths that a rule book may judge: how far the ankles, or the knees, are
// apart, in shoulder widths.
const ShoulderWidths = "legs-apart"

// RatioMeasure is the measure with which a ratio is read; "" for an unknown ratio.
func RatioMeasure(ratio string) string {
	if ratio == ShoulderWidths {
		return legSeparation
	}
	return ""
}

const legSeparation = "leg-separation"

// RatioBand is one deduction band of a rule about a ratio of lengths: the ratio is above Over and at most To;
// To nil: no upper end.
type RatioBand struct {
	Label       string   `json:"label"`
	Deduction   string   `json:"deduction"`
	Over        float64  `json:"over_ratio"`
	To          *float64 `json:"to_ratio"`
	Probability float64  `json:"probability"`
}

// RatioRule is a ratio of lengths held against what a rule book says of it. The probabilities of its bands and
// FreeProbability, that nothing is taken off, add up to 1.
type RatioRule struct {
	Rulebook        string      `json:"rulebook"`
	Name            string      `json:"name"`
	Title           string      `json:"title"`
	Edition         string      `json:"edition"`
	Source          string      `json:"source"`
	Provenance      string      `json:"provenance"`
	Confidence      float64     `json:"confidence"` // the probability required to name one band
	FreeProbability float64     `json:"free_probability"`
	Bands           []RatioBand `json:"bands"`
}

// ratioRule holds draws of a ratio against the skill.
func (s *Skill) ratioRule(d uncertainty.Distribution, confidence float64) *RatioRule {
	out := &RatioRule{Rulebook: s.Rulebook, Name: s.Name, Title: s.Title, Edition: s.Edition, Source: s.Source, Provenance: s.Provenance,
		Confidence: confidence}
	share := 1 / float64(max(1, len(d.Values)))
	out.Bands = slices.Clone(s.RatioBands)
	for _, v := range d.Values {
		at := slices.IndexFunc(out.Bands, func(b RatioBand) bool { return v > b.Over && (b.To == nil || v <= *b.To) })
		if at < 0 {
			out.FreeProbability += share
			continue
		}
		out.Bands[at].Probability += share
	}
	return out
}

// apart are the distances of the ankles and of the knees in shoulder widths; nil unless legs apart are read
// and both shoulders are marked. Where the skill is about them, they are held against it.
func (q *Request) apart() (ankles, knees *Proportion, err error) {
	if q.Measure.Name != legSeparation {
		return nil, nil, nil
	}
	of := func(p geometry.Proportion) *Proportion {
		m, then := q.modelFor(p.Lines, geometry.Options{})
		if m == nil || err != nil {
			return nil
		}
		var out *Proportion
		var d uncertainty.Distribution
		if out, d, err = m.proportion(p.Name, then); err != nil {
			return nil
		}
		if q.Skill != nil && q.Skill.Ratio == ShoulderWidths && !q.proposed(m) {
			out.Rule = q.Skill.ratioRule(d, q.Confidence)
		}
		return out
	}
	ankles, knees = of(geometry.LegsApart()), of(geometry.KneesApart())
	if err == nil && ankles == nil && knees == nil && q.Skill != nil && q.Skill.Ratio != "" {
		err = fault.New(fmt.Sprintf("%s/%s judges how far the legs are apart in shoulder widths, and the marks do not give them", q.Skill.Rulebook, q.Skill.Name),
			"mark left-shoulder and right-shoulder, and both ankles or both knees")
	}
	return ankles, knees, err
}

// Widths are the distances in shoulder widths that were read: of the ankles, then of the knees.
func (r *Reading) Widths() []*Proportion {
	var out []*Proportion
	for _, p := range []*Proportion{r.LegsApart, r.KneesApart} {
		if p != nil {
			out = append(out, p)
		}
	}
	return out
}

// Judged is the distance in shoulder widths that a rule book's skill judges; nil where none does. Of ankles and
// knees it is that which is wider apart: the rules say legs or knees.
func (r *Reading) Judged() *Proportion {
	var out *Proportion
	for _, p := range r.Widths() {
		if p.Rule != nil && (out == nil || p.Ratio > out.Ratio) {
			out = p
		}
	}
	return out
}

// Says is the rule's outcome, as [Reading.Says] is an angle's: first the band or bands, then the ratio.
func (p *Proportion) Says() []string {
	likely := p.likely()
	head := fmt.Sprintf("%s (%s sure)", likely[0].words(), Percent(likely[0].Probability))
	if len(likely) > 1 {
		var names []string
		for _, b := range likely {
			names = append(names, fmt.Sprintf("%s (%s)", b.words(), Percent(b.Probability)))
		}
		head = "the picture cannot decide between " + text.And(names)
	}
	return []string{head, p.widthsWords()}
}

// Brief is the rule's outcome in a few words: "0.10", "0.10 or 0.30".
func (p *Proportion) Brief() string {
	var names []string
	for _, b := range p.likely() {
		names = append(names, b.words())
	}
	if len(names) > 2 {
		return "not decided"
	}
	return strings.Join(names, " or ")
}

// Chances are the probabilities of what Brief names.
func (p *Proportion) Chances() string {
	likely := p.likely()
	switch len(likely) {
	case 1:
		return Percent(likely[0].Probability) + " sure"
	case 2:
		return Percent(likely[0].Probability) + " or " + Percent(likely[1].Probability)
	}
	return ""
}

// Outcomes lists what may come of the rule: nothing taken off where that can be, then its bands.
func (p *Proportion) Outcomes() []RatioBand {
	out := slices.Clone(p.Rule.Bands)
	if first := out[0].Over; first > 0 {
		out = slices.Insert(out, 0, RatioBand{Label: "nothing", To: &first, Probability: p.Rule.FreeProbability})
	}
	return out
}

// likely are the most probable outcomes that together reach the confidence.
func (p *Proportion) likely() []RatioBand {
	all := p.Outcomes()
	slices.SortStableFunc(all, func(a, b RatioBand) int { return cmp.Compare(b.Probability, a.Probability) })
	sum := 0.0
	for i, b := range all {
		if sum += b.Probability; sum >= p.Rule.Confidence {
			return all[:i+1]
		}
	}
	return all
}

// words are the band's deduction, or its label. A band from 0 on is at most that: legs that touch have a ratio
// above 0 too, and nothing is taken off for them.
func (b RatioBand) words() string {
	if b.Over == 0 && b.Deduction != "" {
		return "at most " + b.Deduction
	}
	return cmp.Or(b.Deduction, b.Label)
}

// Where says between which ratios the band lies: "to 1", "over 1".
func (b RatioBand) Where() string {
	switch {
	case b.To == nil:
		return fmt.Sprintf("over %g", b.Over)
	case b.Over == 0:
		return fmt.Sprintf("to %g", *b.To)
	}
	return fmt.Sprintf("%g-%g", b.Over, *b.To)
}

// RuleWords name the rule and how its figures are known, without its source: "fig-men/legs-apart, 2025-2028".
func (j *RatioRule) RuleWords() string {
	out := j.Rulebook + "/" + j.Name
	if j.Edition != "" && j.Edition != "none" {
		out += ", " + j.Edition
	}
	return out
}

// Ref is the rule as a skill, which asks for no angle.
func (j *RatioRule) Ref() *SkillRef {
	return &SkillRef{Rulebook: j.Rulebook, Name: j.Name, Title: j.Title, Edition: j.Edition, Source: j.Source, Provenance: j.Provenance}
}

// widthsWords say how far apart, and what that is beside shoulder width.
func (p *Proportion) widthsWords() string {
	what := "ankles"
	if p.Name == geometry.KneesApart().Name {
		what = "knees"
	}
	return fmt.Sprintf("the %s are %s shoulder widths apart", what, p.ratioWords())
}

// besideWidth holds them against shoulder width, where rule books draw a line.
func (p *Proportion) besideWidth(coverage float64) string {
	switch less := p.Less; {
	case less >= coverage:
		return "closer than the shoulders are wide (" + Percent(less) + " sure)"
	case 1-less >= coverage:
		return "shoulder width or more (" + Percent(1-less) + " sure)"
	}
	return "the picture cannot tell that from shoulder width"
}

// WidthsNote is among the notes of a reading that judges legs apart in shoulder widths.
const WidthsNote = "shoulder widths are counted between the joints, from ankle to ankle and from shoulder to shoulder: legs that touch are some 0.2 apart, " +
	"and whether they touch is for the eye. The two lines run the same way, so that an oblique camera shortens both about alike"
