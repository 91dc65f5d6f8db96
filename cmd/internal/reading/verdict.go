package reading

import (
	"math"

	"ecart/geometry"
	"ecart/geometry/uncertainty"
)

// Convention says how bands worded in whole degrees are read.
const Convention = `angles are not rounded: where bands are worded in whole degrees ("1-20", "21-45"), a shortfall above 20 belongs to the next band`

// Shortfall is how far an angle falls short of what is asked, degrees: asked - angle; with AtMost
// |angle| - asked, or angle - asked if an angle below 0 is something else (OneWay).
func (s *SkillRef) Shortfall(angleDeg float64) float64 {
	switch {
	case !s.AtMost:
		return s.ThresholdDeg - angleDeg
	case s.OneWay:
		return angleDeg - s.ThresholdDeg
	}
	return math.Abs(angleDeg) - s.ThresholdDeg
}

// AnglesAt lists the angles, degrees, with the given shortfall: two if both signs count the same.
func (s *SkillRef) AnglesAt(shortDeg float64) []float64 {
	switch {
	case !s.AtMost:
		return []float64{s.ThresholdDeg - shortDeg}
	case s.OneWay || s.ThresholdDeg+shortDeg == 0:
		return []float64{s.ThresholdDeg + shortDeg}
	}
	return []float64{s.ThresholdDeg + shortDeg, -s.ThresholdDeg - shortDeg}
}

// AngleAt is the angle, degrees, with the given shortfall and the reading's sign.
func (r *Reading) AngleAt(shortDeg float64) float64 {
	at := r.Skill.AnglesAt(shortDeg)
	if r.AngleDeg < 0 {
		return at[len(at)-1]
	}
	return at[0]
}

// judge compares the distribution with the skill. ref is s.ref(), possibly with OneWay changed.
func judge(s *Skill, ref *SkillRef, d uncertainty.Distribution, confidence float64) *Verdict {
	v := &Verdict{
		Confidence:       confidence,
		MeetsProbability: d.Probability(math.Inf(-1), s.FreeDeg, ref.Shortfall),
		ShortfallDeg:     ref.Shortfall(d.Mean),
		Convention:       Convention,
	}
	for _, b := range s.Bands {
		band := BandProbability{Label: b.Label, Deduction: b.Deduction, FromDeg: b.FromDeg,
			Probability: d.Probability(b.FromDeg, b.ToDeg, ref.Shortfall)}
		if !math.IsInf(b.ToDeg, 1) {
			to := b.ToDeg
			band.ToDeg = &to
		}
		v.Bands = append(v.Bands, band)
	}
	zero := s.AtMost && s.AskedDeg+s.FreeDeg == 0
	met, needed := v.MeetsProbability, confidence
	if zero && !ref.OneWay {
		v.setNoneProbability(s, d)
		met, needed = v.NoneProbability, (1+confidence)/2 // a deviation lies on one of two sides
	}
	decision := uncertainty.Decide(met, confidence)
	if zero && d.Low <= 0 && d.High >= 0 {
		decision = uncertainty.Undecided // an interval that contains 0 shows neither
	}
	switch decision {
	case uncertainty.Conforms:
		v.Decision = Meets
	case uncertainty.Fails:
		v.Decision = Short
	default:
		v.Decision = Undecided
		v.NeededStandardUncertaintyDeg = uncertainty.NeededStandard(v.ShortfallDeg-s.FreeDeg, needed)
	}
	return v
}

// setNoneProbability sets the probabilities of a skill that asks for exactly 0, with deviations of both
// signs counted the same. The absolute value is above 0 in every draw, even if the draws are symmetric
// about 0 and so show no deviation. Therefore the probability of the same band with the opposite sign
// is subtracted from each band's:
//
//	P(band) = P(from < x <= to) - P(from < -x <= to)
//
// with x the signed angle, positive for the sign that most draws have. The remainder is NoneProbability,
// 2 P(x < 0): it equals 1 - confidence when an end of the interval of that coverage is at 0.
func (v *Verdict) setNoneProbability(s *Skill, d uncertainty.Distribution) {
	side := 1.0
	if d.Probability(math.Inf(-1), 0, nil) > 0.5 {
		side = -1
	}
	v.NoneProbability = 1
	for i, b := range s.Bands {
		here := d.Probability(b.FromDeg, b.ToDeg, func(x float64) float64 { return side * x })
		there := d.Probability(b.FromDeg, b.ToDeg, func(x float64) float64 { return -side * x })
		v.Bands[i].Probability = min(max(0, here-there), v.NoneProbability)
		v.NoneProbability -= v.Bands[i].Probability
	}
}

func (s *Skill) ref() *SkillRef {
	m, _ := geometry.Lookup(s.Measure)
	return &SkillRef{Rulebook: s.Rulebook, Name: s.Name, Title: s.Title, ThresholdDeg: s.AskedDeg, AtMost: s.AtMost,
		OneWay: s.AtMost && m.OneWay, Edition: s.Edition, Source: s.Source, Provenance: s.Provenance}
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
