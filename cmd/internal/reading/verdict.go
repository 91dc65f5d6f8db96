package reading

import (
	"fmt"
	"math"

	"ecart/geometry/uncertainty"
)

// Convention says how bands worded in whole degrees are read.
const Convention = `angles are not rounded: where bands are worded in whole degrees ("1-20", "21-45"), a shortfall above 20 belongs to the next band`

// shortfall is how far an angle falls short of what the skill asks, degrees.
func (s *Skill) shortfall(angleDeg float64) float64 {
	if s.AtMost {
		return math.Abs(angleDeg) - s.AskedDeg
	}
	return s.AskedDeg - angleDeg
}

// judge compares the distribution with the skill.
func judge(s *Skill, d uncertainty.Distribution, confidence float64) *Verdict {
	v := &Verdict{
		Confidence:       confidence,
		MeetsProbability: d.Probability(math.Inf(-1), s.FreeDeg, s.shortfall),
		ShortfallDeg:     s.shortfall(d.Mean),
		Convention:       Convention,
	}
	for _, b := range s.Bands {
		band := BandProbability{Label: b.Label, Deduction: b.Deduction, FromDeg: b.FromDeg,
			Probability: d.Probability(b.FromDeg, b.ToDeg, s.shortfall)}
		if !math.IsInf(b.ToDeg, 1) {
			to := b.ToDeg
			band.ToDeg = &to
		}
		v.Bands = append(v.Bands, band)
	}
	switch uncertainty.Decide(v.MeetsProbability, confidence) {
	case uncertainty.Conforms:
		v.Decision = Meets
	case uncertainty.Fails:
		v.Decision = Short
	default:
		v.Decision = Undecided
		v.NeededStandardUncertaintyDeg = uncertainty.NeededStandard(v.ShortfallDeg-s.FreeDeg, confidence)
	}
	return v
}

func (s *Skill) ref() *SkillRef {
	return &SkillRef{Rulebook: s.Rulebook, Name: s.Name, Title: s.Title, ThresholdDeg: s.AskedDeg, AtMost: s.AtMost,
		Edition: s.Edition, Source: s.Source, Provenance: s.Provenance}
}

// density is the histogram of the draws within four standard deviations of the
// mean, in steps of a tenth of one.
func density(d uncertainty.Distribution) Density {
	const bins = 80
	const reach = 4 // standard deviations
	if !(d.SD > 0) {
		return Density{FromDeg: d.Mean, StepDeg: 1, Values: []float64{1}}
	}
	low, high := d.Mean-reach*d.SD, d.Mean+reach*d.SD
	out := Density{FromDeg: low, StepDeg: (high - low) / bins, Values: make([]float64, bins)}
	unit := 1 / (float64(len(d.Values)) * out.StepDeg)
	for _, v := range d.Values {
		if i := int(math.Floor((v - low) / out.StepDeg)); i >= 0 && i < bins {
			out.Values[i] += unit
		}
	}
	return out
}

// Say is the verdict in a sentence a coach can use.
func (r *Reading) Say() string {
	v := r.Verdict
	if v == nil {
		return ""
	}
	limit := fmt.Sprintf("%g°", r.limit())
	short, missing := "short of", v.ShortfallDeg
	if r.Skill.AtMost {
		short, missing = "off", v.ShortfallDeg+r.Skill.ThresholdDeg-r.limit()
		limit += " at most"
	}
	switch v.Decision {
	case Meets:
		return fmt.Sprintf("meets %s, with %s probability", limit, Percent(v.MeetsProbability))
	case Short:
		value, _ := uncertainty.Format(math.Abs(missing), r.ExpandedUncertaintyDeg)
		if r.Skill.AtMost {
			return fmt.Sprintf("%s by %s° more than the %s, with %s probability", short, value, limit, Percent(1-v.MeetsProbability))
		}
		return fmt.Sprintf("%s %s by %s°, with %s probability", short, limit, value, Percent(1-v.MeetsProbability))
	}
	if better := r.StandardUncertaintyDeg / v.NeededStandardUncertaintyDeg; better < 20 {
		return fmt.Sprintf("the picture does not decide %s: the angle would have to be known %.2g times better", limit, math.Max(better, 1.1))
	}
	return fmt.Sprintf("the picture does not decide %s: the angle lies on the limit", limit)
}

// limit is the angle at which the skill is just met.
func (r *Reading) limit() float64 {
	if r.Skill.AtMost && len(r.Verdict.Bands) > 0 {
		return r.Skill.ThresholdDeg + r.Verdict.Bands[0].FromDeg
	}
	return r.Skill.ThresholdDeg
}

// Percent writes a probability for people: never 0 or 100, which no picture gives.
func Percent(p float64) string {
	switch {
	case p > 0.995:
		return "over 99 %"
	case p < 0.005:
		return "under 1 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}
