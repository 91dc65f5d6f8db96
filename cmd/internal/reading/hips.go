package reading

import (
	"math"
	"slices"
	"strings"

	"ecart/geometry"
	"ecart/geometry/uncertainty"
)

// HipTurn is the turn of the hips in a split or a hip extension with both hips marked; for a split also the
// split with each leg read from its own hip.
type HipTurn struct {
	// TurnDeg is the turn of the line between the two hip joints from square to the plane of motion: positive
	// if the hips are open, with the hip of the front leg ahead of the other one. The distance of the joints
	// is taken from other bodies of this size.
	TurnDeg                float64    `json:"turn_deg"`
	ExpandedUncertaintyDeg float64    `json:"expanded_uncertainty_deg"`
	IntervalDeg            [2]float64 `json:"interval_deg"`

	// OwnDeg is the split with each leg read from its own hip. From one hip mark for both, the leg of the
	// other hip starts too near or too far: open hips bring that angle nearer to 180.
	OwnDeg                 float64    `json:"own_hips_deg,omitzero"`
	OwnExpandedDeg         float64    `json:"own_hips_expanded_uncertainty_deg,omitzero"`
	OwnIntervalDeg         [2]float64 `json:"own_hips_interval_deg,omitzero"`
	OwnStandardUncertainty float64    `json:"own_hips_standard_uncertainty_deg,omitzero"`

	// Mark is the hip from which the angle itself is not read.
	Mark Mark `json:"mark"`
}

// hips reads the turn of the hips of a split between a front and a back leg; nil if only one hip is marked.
// If "hip" and one of front-hip and back-hip are marked, "hip" is that of the other leg.
func (q *Request) hips() (*HipTurn, error) {
	if q.Measure.Name == hipExtension {
		return q.hipsOfExtension()
	}
	marks, ok := q.ownHips()
	if !ok {
		return nil, nil
	}
	with := *q
	with.Marks = marks
	m, then := with.modelFor(geometry.OwnHips(), q.Options)
	if m == nil {
		return nil, nil
	}
	own, err := m.draw(then)
	if err != nil {
		return nil, err
	}
	turn, err := m.turnOfHips(then, func(at func(string) geometry.Point) geometry.Vec {
		return at("front-ankle").Sub(at("back-ankle"))
	})
	if err != nil {
		return nil, err
	}
	h := &HipTurn{turn.Mean, (turn.High - turn.Low) / 2, [2]float64{turn.Low, turn.High},
		own.Mean, (own.High - own.Low) / 2, [2]float64{own.Low, own.High}, own.SD, Mark{}}
	m, measured, err := then.prepare() // without the distance between the joints
	if err != nil {
		return nil, err
	}
	var both Reading
	both.place(m, measured)
	for _, mark := range both.Marks { // one that was marked as "hip" is in the reading under that name
		if slices.ContainsFunc(q.Marks.Marks, func(p Placement) bool { return p.Landmark == mark.Landmark }) && strings.HasSuffix(mark.Landmark, "-hip") {
			h.Mark = mark
		}
	}
	return h, nil
}

// turnOfHips draws the turn, in degrees, of the line from back-hip to front-hip towards a direction in the plane
// of motion. The model gets one more input: the distance between the joints, as a fraction of its mean.
func (m *model) turnOfHips(q *Request, along func(at func(landmark string) geometry.Point) geometry.Vec) (uncertainty.Distribution, error) {
	last := 0
	for i := range m.blocks {
		last += m.blocks[i].Dim()
	}
	m.blocks = append(slices.Clip(m.blocks), uncertainty.NewScalar(SourceDepth, 1, q.Priors.Depth.Spread.Joint))
	index := map[string]int{}
	for i, n := range m.names {
		index[n] = i
	}
	return m.drawOf(q, func(x []float64) float64 {
		var pts [maxPoints]geometry.Point
		m.points(x, &pts)
		at := func(landmark string) geometry.Point { return pts[index[landmark]] }
		apart := at("front-hip").Sub(at("back-hip")).Dot(along(at).Unit())
		joints := 2 * q.Priors.Depth.Joint["hip"] * m.stature * m.grown(&pts) * x[last]
		return math.Asin(max(-1, min(1, apart/joints))) * 180 / math.Pi
	})
}

const hipExtension = "hip-extension"

// hipsOfExtension reads the turn of the hips about the trunk's line in a hip extension: positive if the hip of the leg
// that is read is behind the other one. It is nil if only one hip is marked.
func (q *Request) hipsOfExtension() (*HipTurn, error) {
	m, _ := q.modelFor(q.Measure, q.Options)
	if m == nil {
		return nil, nil
	}
	own := hipOf(&m.bound)
	other := otherHip(own)
	at := slices.IndexFunc(q.Marks.Marks, func(p Placement) bool { return p.Landmark == other })
	if at < 0 {
		return nil, nil
	}
	shoulder := strings.TrimSuffix(own, "hip") + "shoulder"
	if !slices.ContainsFunc(q.Marks.Marks, func(p Placement) bool { return p.Landmark == shoulder }) {
		shoulder = "shoulder"
	}
	turn := m.bound.Turn()
	with := *q
	named := *q.Marks
	named.Marks = nil
	for _, p := range q.Marks.Marks { // under one name, whichever leg is read
		to, ok := map[string]string{own: "back-hip", other: "front-hip", shoulder: "shoulder"}[p.Landmark]
		if ok {
			p.Landmark = to
			named.Marks = append(named.Marks, p)
		}
	}
	with.Marks = &named
	both, then := with.modelFor(geometry.HipsToShoulder(), geometry.Options{})
	if both == nil {
		return nil, nil
	}
	var placed Reading
	_, measured, err := then.prepare()
	if err != nil {
		return nil, err
	}
	placed.place(both, measured)
	d, err := both.turnOfHips(then, func(at func(string) geometry.Point) geometry.Vec {
		front, back := at("front-hip"), at("back-hip")
		down := geometry.Point{X: (front.X + back.X) / 2, Y: (front.Y + back.Y) / 2}.Sub(at("shoulder"))
		// the leg goes behind in the sense in which the angle opens from the trunk's line, and ahead is the other way
		return geometry.Vec{X: down.Y, Y: -down.X}.Scale(float64(turn))
	})
	if err != nil {
		return nil, err
	}
	h := &HipTurn{TurnDeg: d.Mean, ExpandedUncertaintyDeg: (d.High - d.Low) / 2, IntervalDeg: [2]float64{d.Low, d.High}}
	for _, mark := range placed.Marks {
		if mark.Landmark == "front-hip" {
			h.Mark = mark
			h.Mark.Landmark = other
		}
	}
	return h, nil
}

// hipOf is the hip from which a hip extension is read.
func hipOf(b *geometry.Bound) string {
	for _, n := range b.Landmarks() {
		if kindOf(n) == "hip" {
			return n
		}
	}
	return "hip"
}

// otherHip is the hip of the other leg. A leg without a side is the one behind.
func otherHip(own string) string {
	if side := sideOf(own); side != "" {
		return otherLeg[side] + "-hip"
	}
	return "front-hip"
}

// Shown returns the marks that a figure draws: those that were used, and the other hip if both were marked.
func (r *Reading) Shown() []Mark {
	if r.Hips == nil || r.Hips.Mark.Landmark == "" || slices.ContainsFunc(r.Marks, func(m Mark) bool { return m.Landmark == r.Hips.Mark.Landmark }) {
		return r.Marks
	}
	return append(slices.Clone(r.Marks), r.Hips.Mark)
}

// ownHips returns the marks with a hip for each leg; false if there is only one.
func (q *Request) ownHips() (*Marks, bool) {
	if q.Measure.Name != "hip-split" {
		return nil, false
	}
	marked := func(name string) bool {
		return slices.ContainsFunc(q.Marks.Marks, func(p Placement) bool { return p.Landmark == name })
	}
	front, back := marked("front-hip"), marked("back-hip")
	switch {
	case front && back:
		return q.Marks, true
	case !(front || back) || !marked("hip"):
		return nil, false
	}
	other := "front-hip"
	if front {
		other = "back-hip"
	}
	out := *q.Marks
	out.Marks = slices.Clone(q.Marks.Marks)
	for i := range out.Marks {
		if out.Marks[i].Landmark == "hip" {
			out.Marks[i].Landmark = other
		}
	}
	return &out, true
}

// oneHip returns the marks without front-hip and back-hip if hip is marked: each leg is then read from one
// point, as the split is, and the trunk has one line.
func (m *Marks) oneHip() *Marks {
	if !slices.ContainsFunc(m.Marks, func(p Placement) bool { return p.Landmark == "hip" }) {
		return m
	}
	out := *m
	out.Marks = slices.DeleteFunc(slices.Clone(m.Marks), func(p Placement) bool { return p.Landmark == "front-hip" || p.Landmark == "back-hip" })
	return &out
}

// hipsUnmarked says which mark would show whether the hips are open; "" if it is there, or if the legs are
// not marked as front and back.
func (q *Request) hipsUnmarked(r *Reading) string {
	if q.Measure.Name == hipExtension && r.Hips == nil {
		if m, _ := q.modelFor(q.Measure, q.Options); m != nil {
			return "whether the hips are open to the camera: mark the other hip as well, as " + otherHip(hipOf(&m.bound))
		}
	}
	if q.Measure.Name != "hip-split" || r.Hips != nil || sideOf(r.Lines[0].To) != "front" {
		return ""
	}
	return "whether the hips are open to the camera: mark the other hip as well, as front-hip or back-hip"
}

// HipWords says in one line how the hips are turned; "" if they were not read.
func (r *Reading) HipWords() string {
	h := r.Hips
	if h == nil {
		return ""
	}
	value, plus := uncertainty.Format(math.Abs(h.TurnDeg), h.ExpandedUncertaintyDeg)
	size := value + "° ± " + plus + "°"
	if r.Measure == hipExtension {
		switch {
		case h.IntervalDeg[0] > 0:
			return "the hips are open, turned by " + size + " from square; what the leg shows behind is of the hip joint and of that turn together"
		case h.IntervalDeg[1] < 0:
			return "the hips are turned by " + size + " past square, the hip of the leg behind ahead"
		}
		return "the picture does not show the hips to be open (" + size + ")"
	}
	value, plus = uncertainty.Format(h.OwnDeg, h.OwnExpandedDeg)
	own := "with each leg from its own hip it is " + value + "° ± " + plus + "°"
	switch {
	case h.IntervalDeg[0] > 0:
		return "the hips are open, turned by " + size + " from square; " + own
	case h.IntervalDeg[1] < 0:
		return "the hips are turned by " + size + " past square, the hip of the leg behind ahead; " + own
	}
	return "the picture does not show the hips to be open (" + size + "); " + own
}
