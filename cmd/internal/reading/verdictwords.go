package reading

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"ecart/cmd/internal/text"
	"ecart/geometry/uncertainty"
)

// The wording of a verdict for terminal, page, figures, charts and sheets.

// FreeDeg is the largest shortfall that meets the skill: the start of the first band, degrees.
func (v *Verdict) FreeDeg() float64 {
	if len(v.Bands) == 0 {
		return 0
	}
	return max(0, v.Bands[0].FromDeg)
}

// LimitDeg is the angle at which the skill is just met.
func (r *Reading) LimitDeg() float64 {
	if r.Skill.AtMost {
		return r.Skill.ThresholdDeg + r.Verdict.FreeDeg()
	}
	return r.Skill.ThresholdDeg - r.Verdict.FreeDeg()
}

// EitherWay reports whether exactly 0 is asked and deviations of both signs count the same. No angle is
// exactly 0, so such a skill is never shown to be met.
func (r *Reading) EitherWay() bool {
	return r.Skill != nil && r.Verdict != nil && r.Skill.AtMost && !r.Skill.OneWay && r.LimitDeg() == 0
}

// TellsNothing reports whether 0 is asked and the interval contains it, so that no deviation is shown.
func (r *Reading) TellsNothing() bool {
	return r.Skill.AtMost && r.LimitDeg() == 0 && r.IntervalDeg[0] <= 0 && r.IntervalDeg[1] >= 0
}

// Outcome is one possible result of a verdict: the skill is met (or, if exactly 0 is asked, no deviation
// is shown), or a deduction band applies.
type Outcome struct {
	Words       string // of a band: its deduction, or its label if it has none
	Probability float64
	FromDeg     float64 // the shortfall is above this, degrees; -Inf if the skill is met
	ToDeg       float64 // and at most this
}

// Outcomes lists meeting the skill and the bands, in the rule's order. Their probabilities add up to 1.
func (r *Reading) Outcomes() []Outcome {
	v := r.Verdict
	first := Outcome{"meets it", v.MeetsProbability, math.Inf(-1), v.FreeDeg()}
	if r.EitherWay() {
		first.Words, first.Probability = "not told from 0°", v.NoneProbability
	}
	out := []Outcome{first}
	for _, b := range v.Bands {
		o := Outcome{cmp.Or(b.Deduction, b.Label), b.Probability, b.FromDeg, math.Inf(1)}
		if b.ToDeg != nil {
			o.ToDeg = *b.ToDeg
		}
		out = append(out, o)
	}
	return out
}

// Likely lists the most probable outcomes, in descending order, that together reach the confidence: one
// if the picture decides the band, else those between which it cannot decide.
func (r *Reading) Likely() []Outcome {
	all := r.Outcomes()
	slices.SortStableFunc(all, func(a, b Outcome) int { return cmp.Compare(b.Probability, a.Probability) })
	sum := 0.0
	for i, o := range all {
		if sum += o.Probability; sum >= r.Verdict.Confidence && (i > 0 || r.Verdict.Decision != Undecided) {
			return all[:i+1]
		}
	}
	return all
}

// Says is the verdict in one or two short lines without a full stop: first the band, or that the
// picture does not decide it; then the degrees, or the ratio that is judged. It is nil without a verdict.
func (r *Reading) Says() []string {
	v := r.Verdict
	if p := r.Judged(); p != nil {
		return p.Says()
	}
	if v == nil || r.Skill == nil {
		return nil
	}
	if r.TellsNothing() {
		return []string{"the picture cannot tell it from " + r.noneWords(), r.degreesWords()}
	}
	likely := r.Likely()
	if v.Decision == Meets {
		return []string{r.degreesWords()}
	}
	if len(likely) == 1 {
		return []string{fmt.Sprintf("%s (%s sure)", likely[0].Words, Percent(likely[0].Probability)), r.degreesWords()}
	}
	var names []string
	for _, o := range likely {
		name := o.Words
		switch {
		case math.IsInf(o.FromDeg, -1) && r.EitherWay():
			name = "none"
		case math.IsInf(o.FromDeg, -1):
			name = "meeting it"
		}
		names = append(names, fmt.Sprintf("%s (%s)", name, Percent(o.Probability)))
	}
	return []string{"the picture cannot decide between " + text.And(names), r.degreesWords()}
}

// Say is Says in one sentence.
func (r *Reading) Say() string { return strings.Join(r.Says(), "; ") }

// Brief is the verdict in a few words, for a row of a list: "0.10", "0.10 or 0.30", "meets it",
// "not decided".
func (r *Reading) Brief() string {
	switch {
	case r.Judged() != nil:
		return r.Judged().Brief()
	case r.Verdict == nil || r.Skill == nil:
		return ""
	case r.TellsNothing():
		return "not told from 0°"
	}
	likely := r.Likely()
	switch len(likely) {
	case 1:
		return likely[0].Words
	case 2:
		return likely[0].Words + " or " + likely[1].Words
	}
	return "not decided"
}

// BriefChances gives the probabilities of what Brief names: "87 % sure", "60 % or 38 %", "meets 30 %";
// "" without a verdict, and if 0 is asked and the interval contains it.
func (r *Reading) BriefChances() string {
	if p := r.Judged(); p != nil {
		return p.Chances()
	}
	if r.Verdict == nil || r.Skill == nil || r.TellsNothing() {
		return ""
	}
	likely := r.Likely()
	switch len(likely) {
	case 1:
		return Percent(likely[0].Probability) + " sure"
	case 2:
		return Percent(likely[0].Probability) + " or " + Percent(likely[1].Probability)
	}
	return "meets " + Percent(r.Verdict.MeetsProbability)
}

// KneeWords describes the knees of a reading of whole legs, one line each, with the deduction for a bent
// one, and the angle of the thighs. It is nil if no knee is marked.
func (r *Reading) KneeWords() []string {
	var out []string
	for i := range r.Knees {
		k := &r.Knees[i]
		name := strings.TrimSpace(k.Leg + " knee")
		value, plus := uncertainty.Format(k.BendDeg, k.ExpandedUncertaintyDeg)
		if !k.Bent {
			out = append(out, fmt.Sprintf("the picture does not show the %s to be bent (%s° ± %s°)", name, value, plus))
			continue
		}
		sure := 1 - k.Verdict.MeetsProbability
		how := "bent"
		if k.EitherWay {
			sure, how = 1-k.Verdict.NoneProbability, "bent, or past straight,"
		}
		say := fmt.Sprintf("the %s is %s (%s sure), by %s° ± %s°", name, how, Percent(sure), value, plus)
		out = append(out, say+r.kneeRule(k))
	}
	if r.Thigh != nil {
		value, plus := uncertainty.Format(r.Thigh.AngleDeg, r.Thigh.ExpandedUncertaintyDeg)
		whole, _ := uncertainty.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
		out = append(out, fmt.Sprintf("by the thighs alone it is %s° ± %s°, by the whole legs %s°", value, plus, whole))
	}
	return out
}

// BentWords are the lines of KneeWords about knees that are bent.
func (r *Reading) BentWords() []string {
	var out []string
	for i, say := range r.KneeWords() {
		if i < len(r.Knees) && r.Knees[i].Bent {
			out = append(out, say)
		}
	}
	return out
}

// kneeRule names the deduction for a bent knee.
func (r *Reading) kneeRule(k *Knee) string {
	s := r.Straight
	switch {
	case s == nil:
		return ""
	case len(s.Bands) == 0:
		return fmt.Sprintf("; %s takes off %s, and names no degrees", s.Rule, s.Words)
	}
	as := Reading{Measure: "knee-bend", Verdict: &k.Verdict, AngleDeg: k.BendDeg, IntervalDeg: k.IntervalDeg, Skill: &SkillRef{AtMost: true, OneWay: !k.EitherWay}}
	var names []string
	for _, o := range as.Likely() {
		names = append(names, fmt.Sprintf("%s (%s)", o.Words, Percent(o.Probability)))
	}
	return fmt.Sprintf("; for it %s takes off %s", s.Rule, strings.Join(names, " or "))
}

// noneWords completes "the picture cannot tell it from" for a skill that asks for 0.
func (r *Reading) noneWords() string {
	if strings.HasSuffix(r.Measure, "-bend") {
		return "no bend"
	}
	return "no deviation"
}

// degreesWords is the verdict in degrees: its probability, then the shortfall.
func (r *Reading) degreesWords() string {
	v, s := r.Verdict, r.Skill
	asked := fmt.Sprintf("%g°", s.ThresholdDeg)
	beyond := v.ShortfallDeg
	if s.AtMost {
		beyond -= v.FreeDeg()
		asked = fmt.Sprintf("%g°", r.LimitDeg())
	}
	by, plus := uncertainty.Format(math.Abs(beyond), r.ExpandedUncertaintyDeg)
	switch {
	case r.TellsNothing():
		angle, _ := uncertainty.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
		return fmt.Sprintf("0° lies within %s° ± %s°", angle, plus)
	case v.Decision == Meets:
		return fmt.Sprintf("meets %s (%s sure)", asked, Percent(v.MeetsProbability))
	case v.Decision == Short:
		sure := Percent(1 - v.MeetsProbability)
		if r.EitherWay() {
			sure = Percent(1 - v.NoneProbability)
		}
		how := "short of " + asked
		switch {
		case s.AtMost && r.LimitDeg() == 0:
			how = "off " + asked
		case s.AtMost:
			how = "more than " + asked
		}
		return fmt.Sprintf("%s (%s sure), by %s° ± %s°", how, sure, by, plus)
	}
	if better := r.StandardUncertaintyDeg / v.NeededStandardUncertaintyDeg; better < 20 {
		// rounded up: so many times better must be enough
		return fmt.Sprintf("to decide %s, the angle would have to be known %g times better", asked, max(math.Ceil(better*10)/10, 1.1))
	}
	return fmt.Sprintf("the angle lies on the limit, %s", asked)
}

// BetweenWords gives the interval in whole degrees, or in tenths if it is narrower than two; both ends are
// rounded outwards.
func (r *Reading) BetweenWords() string {
	places, scale := 0, 1.0
	if r.ExpandedUncertaintyDeg < 1 {
		places, scale = 1, 10
	}
	lo, hi := math.Floor(r.IntervalDeg[0]*scale)/scale+0, math.Ceil(r.IntervalDeg[1]*scale)/scale+0
	between := fmt.Sprintf("the true angle lies between %.*f and %.*f, %.0f %% sure", places, lo, places, hi, 100*r.Coverage)
	if r.Proposed {
		return ProposedWords + ": " + between
	}
	return between
}

// AskedWords says what the skill asks: "180°", "at most 10°", "180°, to 5 short is free".
func (r *Reading) AskedWords() string {
	free := r.Verdict.FreeDeg()
	switch {
	case r.Skill.AtMost && r.LimitDeg() == 0:
		return "0°"
	case r.Skill.AtMost:
		return fmt.Sprintf("at most %g°", r.LimitDeg())
	case free > 0:
		return fmt.Sprintf("%g°, to %g short is free", r.Skill.ThresholdDeg, free)
	}
	return fmt.Sprintf("%g°", r.Skill.ThresholdDeg)
}

// minusPattern matches a hyphen before a figure, at the beginning of a word.
var minusPattern = regexp.MustCompile(`(^|[ (])-(\d|$)`)

// Minus replaces hyphens before figures with minus signs.
func Minus(s string) string { return minusPattern.ReplaceAllString(s, "${1}−${2}") }

// Percent formats a probability for display, never as 0 or 100 %, which no picture gives.
func Percent(p float64) string {
	switch {
	case p > 0.995:
		return "over 99 %"
	case p < 0.005:
		return "under 1 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// LegWords says along which line the leg was read, to follow the measure's title: ", whole leg",
// ", thigh", or "" if a measure has one line only.
func (r *Reading) LegWords() string {
	for _, l := range r.Lines {
		switch {
		case strings.HasSuffix(l.To, "ankle") && r.Measure == "hip-split":
			return ", whole leg"
		case strings.HasSuffix(l.To, "knee") && strings.HasSuffix(l.From, "hip") && r.Measure != "knee-bend":
			return ", thigh"
		}
	}
	return ""
}

// LinesWords names the two lines of the angle: "hip to front ankle, hip to back ankle".
func (r *Reading) LinesWords() string {
	say := func(l Line) string {
		if l.Fixed {
			return strings.ReplaceAll(l.To, "-", " ")
		}
		return strings.ReplaceAll(l.From+" to "+l.To, "-", " ")
	}
	return say(r.Lines[0]) + ", " + say(r.Lines[1])
}
