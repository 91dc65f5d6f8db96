package reading

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"ecart/geometry"
	"ecart/geometry/uncertainty"
)

// Beside is another angle of the same frame, read from the same marks and under the same camera.
type Beside struct {
	Measure                string     `json:"measure"`
	Leg                    string     `json:"leg,omitempty"` // front, back, left or right; for uneven-legs the leg that is higher if the angle is positive; "" for an angle of the trunk or the arm
	AngleDeg               float64    `json:"angle_deg"`
	StandardUncertaintyDeg float64    `json:"standard_uncertainty_deg"`
	ExpandedUncertaintyDeg float64    `json:"expanded_uncertainty_deg"`
	IntervalDeg            [2]float64 `json:"interval_deg"`

	// Sources has the standard uncertainty of each source, degrees, to first order. What the draws
	// scatter beyond that is put to the oblique camera, whose effect has no first derivative if a line is level.
	Sources map[string]float64 `json:"sources_deg"`
}

const unevenLegs = "uneven-legs"

// otherLeg has the other leg of each pair.
var otherLeg = map[string]string{"front": "back", "back": "front", "right": "left", "left": "right"}

// besides lists the other angles that the marks of a measure can show: of each leg, and of the whole body.
var besides = map[string]struct{ eachLeg, whole []string }{
	"hip-split":          {[]string{"leg-rise", "hip-flexion"}, []string{unevenLegs, "trunk-arch"}},
	"leg-separation":     {[]string{"leg-rise"}, []string{unevenLegs}},
	"shoulder-flexion":   {nil, []string{"shoulder-flexion-from-ribs", "trunk-arch"}},
	"shoulder-extension": {nil, []string{"trunk-arch"}},
	"pike":               {nil, []string{"trunk-arch"}},
	"hip-extension":      {nil, []string{"trunk-arch"}},
}

// beside reads, concurrently, the other angles for which all marks are there.
func (q *Request) beside(b *geometry.Bound) ([]Beside, error) {
	table, legs := besides[q.Measure.Name], legEnds(b)
	var asked []Beside
	for _, leg := range legs {
		for _, measure := range table.eachLeg {
			asked = append(asked, Beside{Measure: measure, Leg: leg})
		}
	}
	for _, measure := range table.whole {
		one := Beside{Measure: measure}
		if measure == unevenLegs && len(legs) > 0 {
			one.Leg = legs[0]
		}
		asked = append(asked, one)
	}
	read, errs := make([]bool, len(asked)), make([]error, len(asked))
	var wg sync.WaitGroup
	for i := range asked {
		wg.Go(func() { read[i], errs[i] = q.readBeside(&asked[i]) })
	}
	wg.Wait()
	var out []Beside
	for i, one := range asked {
		if read[i] {
			out = append(out, one)
		}
	}
	return out, errors.Join(errs...)
}

// modelFor returns the model of another measure for the same marks and camera, and the request for one
// batch of its draws; nil if the measure is not marked or its side is not decided.
func (q *Request) modelFor(measure geometry.Measure, opt geometry.Options) (*model, *Request) {
	then := *q
	then.Measure, then.Options = measure, opt
	then.Movement, then.Skill, then.MaxDraws = nil, nil, besideDraws
	m, _, err := then.prepare()
	if err != nil {
		return nil, nil
	}
	return m, &then
}

// readBeside reads the angle that b names; false if it is not marked or its side is not decided.
func (q *Request) readBeside(b *Beside) (bool, error) {
	measure, _ := geometry.Lookup(b.Measure)
	if b.Measure == "hip-flexion" {
		// of the legs of a split one is in front of the trunk's line and one behind, which needs no facing
		measure = measure.EitherWay()
	}
	opt := q.Options
	if b.Leg != "" && b.Measure != unevenLegs {
		opt.Side = geometry.Side(b.Leg)
	}
	of := *q
	of.Marks = q.Marks.oneHip()
	m, then := of.modelFor(measure, opt)
	if m == nil {
		return false, nil
	}
	d, err := m.draw(then)
	b.AngleDeg, b.StandardUncertaintyDeg, b.ExpandedUncertaintyDeg, b.IntervalDeg = d.Mean, d.SD, (d.High-d.Low)/2, [2]float64{d.Low, d.High}
	b.Sources = m.sources(d.SD)
	return err == nil, err
}

// sources returns the standard uncertainty of each of the model's sources, degrees, to first order. What
// is missing to sd is added to the oblique camera's.
func (m *model) sources(sd float64) map[string]float64 {
	g := m.gradient()
	variance := map[string]float64{}
	at, sum := 0, 0.0
	for i := range m.blocks {
		b := &m.blocks[i]
		u := uncertainty.FirstOrder(0, m.blocks[i:i+1], g[at:at+b.Dim()], 0.95).Standard
		at += b.Dim()
		variance[b.Source] += u * u
		sum += u * u
	}
	variance[SourceOblique] += max(0, sd*sd-sum)
	out := map[string]float64{}
	for source, v := range variance {
		if v > 0 {
			out[source] = math.Sqrt(v)
		}
	}
	return out
}

// BesideName names an angle that was read beside another: "the front leg from level".
func BesideName(measure, leg string) string {
	switch measure {
	case "leg-rise":
		return "the " + leg + " leg, above level"
	case "hip-flexion":
		return "the " + leg + " leg, from the trunk's line"
	case unevenLegs:
		return "the " + leg + " leg above the " + otherLeg[leg] + " leg"
	}
	m, _ := geometry.Lookup(measure)
	return m.Title
}

// legEnds lists the sides of the ankles, or of the knees where the thighs are read, at the ends of the
// measure's lines.
func legEnds(b *geometry.Bound) []string {
	var out []string
	names := b.Landmarks()
	for _, l := range b.Lines() {
		if l.To < 0 {
			continue
		}
		if kind, side := kindOf(names[l.To]), sideOf(names[l.To]); side != "" && (kind == "ankle" || kind == "knee") {
			out = append(out, side)
		}
	}
	return out
}

// besideOf is an angle beside the reading; nil if it was not read.
func (r *Reading) besideOf(measure, leg string) *Beside {
	for i := range r.Beside {
		if b := &r.Beside[i]; b.Measure == measure && b.Leg == leg {
			return b
		}
	}
	return nil
}

// shows reports whether the interval leaves 0 out.
func (b *Beside) shows() bool { return b.IntervalDeg[0] > 0 || b.IntervalDeg[1] < 0 }

// words returns the angle without its sign, with its expanded uncertainty: "12° ± 4°".
func (b *Beside) words() string {
	value, plus := uncertainty.Format(math.Abs(b.AngleDeg), b.ExpandedUncertaintyDeg)
	return value + "° ± " + plus + "°"
}

// BesideWords describes the angles beside the reading, one line each: each leg by itself, which of them
// is higher, and what the trunk adds. It is nil if there are none.
func (r *Reading) BesideWords() []string {
	var out []string
	for _, leg := range []string{"front", "back", "right", "left"} {
		rise := r.besideOf("leg-rise", leg)
		if rise == nil {
			continue
		}
		where := "above level"
		if rise.AngleDeg < 0 {
			where = "below level"
		}
		say := fmt.Sprintf("the %s leg is %s %s", leg, rise.words(), where)
		if trunk := r.besideOf("hip-flexion", leg); trunk != nil {
			line := map[string]string{"front": "in front of the trunk's line", "back": "behind the trunk's line, the arch of the back included"}[leg]
			if line == "" {
				line = "from the trunk's line"
			}
			say += fmt.Sprintf(", and %s %s", trunk.words(), line)
		}
		out = append(out, say)
	}
	if say := r.UnevenWords(); say != "" {
		out = append(out, say)
	}
	if say := r.HipWords(); say != "" {
		out = append(out, say)
	}
	if arch := r.besideOf("trunk-arch", ""); arch != nil {
		switch {
		case !arch.shows():
			out = append(out, "the picture does not show the trunk to be arched or rounded ("+arch.words()+")")
		case arch.AngleDeg > 0:
			out = append(out, "the trunk is arched back at the lowest ribs by "+arch.words())
		default:
			out = append(out, "the trunk is rounded at the lowest ribs by "+arch.words())
		}
	}
	if ribs := r.besideOf("shoulder-flexion-from-ribs", ""); ribs != nil {
		out = append(out, "from the lowest ribs up, without what the trunk arches, it is "+ribs.words())
	}
	return append(out, r.ProportionWords()...)
}

// UnevenWords says which leg is higher; "" if the reading has no two legs.
func (r *Reading) UnevenWords() string {
	uneven := r.uneven()
	if uneven == nil {
		return ""
	}
	if !uneven.shows() {
		return "the picture does not show one leg to be higher than the other (" + uneven.words() + ")"
	}
	return "the " + r.HigherLeg() + " leg is the higher one, by " + uneven.words()
}

// HigherLeg returns the leg that is higher than the other one: front, back, right or left; "" if the
// picture does not show it.
func (r *Reading) HigherLeg() string {
	uneven := r.uneven()
	if uneven == nil || !uneven.shows() {
		return ""
	}
	if uneven.AngleDeg > 0 {
		return uneven.Leg
	}
	return otherLeg[uneven.Leg]
}

// uneven returns how much higher one leg is than the other; nil if the reading has no two legs.
func (r *Reading) uneven() *Beside {
	i := slices.IndexFunc(r.Beside, func(b Beside) bool { return b.Measure == unevenLegs })
	if i < 0 {
		return nil
	}
	return &r.Beside[i]
}
