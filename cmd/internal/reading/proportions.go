package reading

import (
	"fmt"
	"math"
	"slices"

	"ecart/geometry"
	"ecart/geometry/uncertainty"
)

// Proportion is a length of the body as a fraction of another one.
type Proportion struct {
	Name                string     `json:"name"` // "arm-to-leg"; see [geometry.Proportions]
	Ratio               float64    `json:"ratio"`
	StandardUncertainty float64    `json:"standard_uncertainty"`
	Interval            [2]float64 `json:"interval"`
	// Less is the probability that it is below 1; for legs apart, that they are closer than the shoulders are wide.
	Less float64    `json:"below_one_probability"`
	Rule *RatioRule `json:"rule,omitempty"` // for legs apart: what a rule book takes off for it
}

// Position is the angle that a position needs with these proportions, by plain geometry with straight
// limbs.
type Position struct {
	Name                   string     `json:"name"`
	AngleDeg               float64    `json:"angle_deg"`
	ExpandedUncertaintyDeg float64    `json:"expanded_uncertainty_deg"`
	IntervalDeg            [2]float64 `json:"interval_deg"`
}

// Names of the positions.
const (
	AnklesTouched = "ankles-touched" // pike at which the wrists reach the ankles
	Bridge        = "bridge"         // shoulder flexion in a bridge, arms and legs straight and plumb
	RailBehind    = "rail-behind"    // shoulder extension with the wrists on a rail behind the back, at the height of the hips
)

// positions has the angles, degrees, that positions need with an arm, a trunk and a leg of given lengths.
// By the law of cosines: the arm spans the fold between trunk and leg; the trunk is the side of a
// right-angled triangle whose longest side is the arm. In a bridge the trunk rises from the height of the arm
// to that of the leg, and bends from the arm's line by its slope from plumb. NaN if the limbs do not reach.
var positions = []struct {
	name string
	deg  func(arm, trunk, leg float64) float64
}{
	{AnklesTouched, func(arm, trunk, leg float64) float64 {
		return math.Acos((trunk*trunk+leg*leg-arm*arm)/(2*trunk*leg)) * 180 / math.Pi
	}},
	{RailBehind, func(arm, trunk, _ float64) float64 { return math.Acos(trunk/arm) * 180 / math.Pi }},
	{Bridge, func(arm, trunk, leg float64) float64 { return 180 + math.Acos((leg-arm)/trunk)*180/math.Pi }},
}

// proportions reads the proportions for which all marks are there, and with arm, trunk and leg the
// positions. Without a wrist there are none: the marks are not about the arms.
func (q *Request) proportions() ([]Proportion, []Position, error) {
	if !slices.ContainsFunc(q.Marks.Marks, func(p Placement) bool { return kindOf(p.Landmark) == "wrist" }) {
		return nil, nil, nil
	}
	var out []Proportion
	var at []Position
	for _, p := range geometry.Proportions() {
		m, then := q.modelFor(p.Lines, q.Options)
		if m == nil {
			continue
		}
		one, _, err := m.proportion(p.Name, then)
		if err != nil {
			return nil, nil, err
		}
		out = append(out, *one)
		if p.Name == "arm-to-leg" {
			at = m.positionsOf(then)
		}
	}
	return out, at, nil
}

// proportion returns the length of the model's first line as a fraction of the second's, with its draws.
func (m *model) proportion(name string, q *Request) (*Proportion, uncertainty.Distribution, error) {
	d, err := m.drawOf(q, func(x []float64) float64 {
		var pts [maxPoints]geometry.Point
		m.points(x, &pts)
		return m.bound.LengthRatio(pts[:len(m.names)])
	})
	less := 0
	for _, v := range d.Values {
		if v < 1 {
			less++
		}
	}
	return &Proportion{name, d.Mean, d.SD, [2]float64{d.Low, d.High}, float64(less) / float64(max(1, len(d.Values))), nil}, d, err
}

// positionsOf returns the positions with the lengths of a model whose lines are arm and leg. It leaves out
// those that the limbs, within their uncertainty, may not reach: their angle is not known.
func (m *model) positionsOf(q *Request) (out []Position) {
	l := m.bound.Lines()
	for _, one := range positions {
		d, err := m.drawOf(q, func(x []float64) float64 {
			var pts [maxPoints]geometry.Point
			m.points(x, &pts)
			arm, leg := pts[l[0].To].Sub(pts[l[0].From]), pts[l[1].To].Sub(pts[l[1].From])
			trunk := pts[l[0].From].Sub(pts[l[1].From])
			return one.deg(arm.Norm(), trunk.Norm(), leg.Norm())
		})
		if err == nil {
			out = append(out, Position{one.name, d.Mean, (d.High - d.Low) / 2, [2]float64{d.Low, d.High}})
		}
	}
	return out
}

// ratioWords returns a ratio with its uncertainty: "0.68 ± 0.05".
func (p *Proportion) ratioWords() string {
	value, plus := uncertainty.Format(p.Ratio, (p.Interval[1]-p.Interval[0])/2)
	return value + " ± " + plus
}

// ProportionWords describes the body's proportions, and what positions need with them, one line each.
func (r *Reading) ProportionWords() []string {
	var out []string
	for _, p := range r.Widths() {
		if p == r.Judged() {
			continue // the verdict says it
		}
		out = append(out, p.widthsWords()+": "+p.besideWidth(r.Coverage))
	}
	for _, known := range geometry.Proportions() {
		for i := range r.Proportions {
			if p := &r.Proportions[i]; p.Name == known.Name {
				out = append(out, fmt.Sprintf("the %s is %s of the %s", known.Part, p.ratioWords(), known.Whole))
			}
		}
	}
	for _, p := range r.Positions {
		value, plus := uncertainty.Format(p.AngleDeg, p.ExpandedUncertaintyDeg)
		switch p.Name {
		case AnklesTouched:
			out = append(out, fmt.Sprintf("with these lengths and a flat back the wrists reach the ankles folded to %s° ± %s° at the hip", value, plus))
		case Bridge:
			out = append(out, fmt.Sprintf("a bridge with arms and legs straight and plumb takes %s° ± %s° of shoulder flexion, the arch of the back included", value, plus))
		case RailBehind:
			out = append(out, fmt.Sprintf("hands on a rail behind the back, at the height of the hips, take %s° ± %s° of shoulder extension", value, plus))
		}
	}
	return out
}
