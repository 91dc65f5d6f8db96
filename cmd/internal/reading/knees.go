package reading

import (
	"fmt"
	"math"
	"strings"

	"ecart/geometry"
)

// StraightLegs is a rule with a separate deduction for a bent knee: in bands of degrees of bend, or in
// words if the rule names no degrees.
type StraightLegs struct {
	Rule       string            `json:"rule"` // BOOK/NAME
	FreeDeg    float64           `json:"free_deg,omitempty"`
	Bands      []BandProbability `json:"bands,omitempty"` // without probabilities
	Words      string            `json:"words,omitempty"` // "slight 0.10, medium 0.30, large 0.50"
	Provenance string            `json:"provenance"`
}

// Knee is the bend of one knee, read along with the whole leg from the same marks and camera.
type Knee struct {
	Leg                    string     `json:"leg"` // front, back, left, right, or "" if the marks name none
	BendDeg                float64    `json:"bend_deg"`
	StandardUncertaintyDeg float64    `json:"standard_uncertainty_deg"`
	ExpandedUncertaintyDeg float64    `json:"expanded_uncertainty_deg"`
	IntervalDeg            [2]float64 `json:"interval_deg"`
	// EitherWay: the marks do not decide to which side the knee bends, so a knee past straight may be
	// reported as bent.
	EitherWay bool    `json:"either_way,omitempty"`
	Bent      bool    `json:"bent"` // with the confidence of the reading
	Verdict   Verdict `json:"verdict"`
}

// Thigh is the same angle read from hip to knee, which a bend of the knee does not affect.
type Thigh struct {
	AngleDeg               float64    `json:"angle_deg"`
	ExpandedUncertaintyDeg float64    `json:"expanded_uncertainty_deg"`
	IntervalDeg            [2]float64 `json:"interval_deg"`
}

// besideDraws is the number of draws for knees and thighs: one batch.
const besideDraws = adviceDraws

// legs lists the sides of the measure's hip-to-ankle lines; "" for a line without a side.
func legs(b *geometry.Bound) []string {
	var out []string
	names := b.Landmarks()
	for _, l := range b.Lines() {
		if l.To < 0 || kindOf(names[l.From]) != "hip" || kindOf(names[l.To]) != "ankle" {
			continue
		}
		side, _, sided := strings.Cut(names[l.To], "-")
		if !sided {
			side = ""
		}
		out = append(out, side)
	}
	return out
}

// bends reads the marked knees of the whole legs and, if all are marked, the thighs.
func (q *Request) bends(b *geometry.Bound) (knees []Knee, thigh *Thigh, err error) {
	sides := legs(b)
	for _, side := range sides {
		k, err := q.bend(side)
		if err != nil {
			return nil, nil, err
		}
		if k != nil {
			knees = append(knees, *k)
		}
	}
	if len(sides) == 0 || len(knees) < len(sides) {
		return knees, nil, nil
	}
	opt := q.Options
	opt.Leg = geometry.Thigh
	m, then := q.modelFor(q.Measure, opt)
	if m == nil { // for example a thigh along the trunk, whose side is not decided
		return knees, nil, nil
	}
	d, err := m.draw(then)
	if err != nil {
		return knees, nil, nil
	}
	return knees, &Thigh{d.Mean, (d.High - d.Low) / 2, [2]float64{d.Low, d.High}}, nil
}

// bend is the bend of the knee of one side; nil if the knee is not marked.
func (q *Request) bend(side string) (*Knee, error) {
	then := *q
	then.Options = geometry.Options{Side: geometry.Side(side), Facing: q.Options.Facing}
	then.Movement, then.MaxDraws = nil, besideDraws
	then.Skill = q.straight()
	k := Knee{Leg: side}
	knee, _ := geometry.Lookup("knee-bend")
	for _, measure := range []geometry.Measure{knee, knee.EitherWay()} {
		then.Measure = measure
		k.EitherWay = measure.Magnitude
		m, _, err := then.prepare()
		if err != nil {
			continue // not marked, or the side to which it bends is not decided
		}
		d, err := m.draw(&then)
		if err != nil {
			return nil, err
		}
		k.BendDeg, k.StandardUncertaintyDeg, k.ExpandedUncertaintyDeg = d.Mean, d.SD, (d.High-d.Low)/2
		k.IntervalDeg = [2]float64{d.Low, d.High}
		ref := then.Skill.ref()
		ref.OneWay = !k.EitherWay
		k.Verdict = *judge(then.Skill, ref, d, q.Confidence)
		k.Bent = k.Verdict.Decision == Short
		return &k, nil
	}
	return nil, nil
}

// straight is the skill by which a knee is judged: by the rule for straight legs if it names degrees,
// else one that asks for a straight knee and has no deductions.
func (q *Request) straight() *Skill {
	s := &Skill{Measure: "knee-bend", AtMost: true}
	if q.Skill != nil && q.Skill.StraightLegs != nil {
		rule := q.Skill.StraightLegs
		s.Rulebook, s.Name, _ = strings.Cut(rule.Rule, "/")
		s.FreeDeg = rule.FreeDeg
		for _, b := range rule.Bands {
			to := math.Inf(1)
			if b.ToDeg != nil {
				to = *b.ToDeg
			}
			s.Bands = append(s.Bands, Band{b.Label, b.Deduction, b.FromDeg, to})
		}
	}
	if len(s.Bands) == 0 {
		s.Bands = []Band{{"bent", "", 0, math.Inf(1)}}
	}
	return s
}

// kneesUnmarked says which knees are not marked although the rule book deducts for a bent knee; "" if
// there are none.
func (q *Request) kneesUnmarked(b *geometry.Bound, known []Knee) string {
	if q.Skill == nil || q.Skill.StraightLegs == nil {
		return ""
	}
	var missing []string
	for _, side := range legs(b) {
		have := false
		for _, k := range known {
			have = have || k.Leg == side
		}
		if !have {
			missing = append(missing, strings.TrimPrefix(side+"-knee", "-"))
		}
	}
	if len(missing) == 0 {
		return ""
	}
	return fmt.Sprintf("whether a knee is bent, which %s takes off by itself: mark %s", q.Skill.StraightLegs.Rule, strings.Join(missing, " and "))
}
