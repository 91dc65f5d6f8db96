package reading

import (
	"math"
	"slices"
	"strings"

	"ecart/geometry"
	"ecart/geometry/uncertainty"
)

// HipTurn is the turn of the hips in a split with both hips marked, and the split with each leg read from
// its own hip.
type HipTurn struct {
	// TurnDeg is the turn of the line between the two hip joints from square to the plane of motion: positive
	// if the hips are open, with the hip of the front leg ahead of the other one. The distance of the joints
	// is taken from other bodies of this size.
	TurnDeg                float64    `json:"turn_deg"`
	ExpandedUncertaintyDeg float64    `json:"expanded_uncertainty_deg"`
	IntervalDeg            [2]float64 `json:"interval_deg"`

	// OwnDeg is the split with each leg read from its own hip. From one hip mark for both, the leg of the
	// other hip starts too near or too far: open hips bring that angle nearer to 180.
	OwnDeg                 float64    `json:"own_hips_deg"`
	OwnExpandedDeg         float64    `json:"own_hips_expanded_uncertainty_deg"`
	OwnIntervalDeg         [2]float64 `json:"own_hips_interval_deg"`
	OwnStandardUncertainty float64    `json:"own_hips_standard_uncertainty_deg"`

	// Mark is the hip from which the angle itself is not read.
	Mark Mark `json:"mark"`
}

// hips reads the turn of the hips of a split between a front and a back leg; nil if only one hip is marked.
// If "hip" and one of front-hip and back-hip are marked, "hip" is that of the other leg.
func (q *Request) hips() (*HipTurn, error) {
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
	// one more input: the distance between the joints, as a fraction of its mean
	at := 0
	for i := range m.blocks {
		at += m.blocks[i].Dim()
	}
	m.blocks = append(slices.Clip(m.blocks), uncertainty.NewScalar(SourceDepth, 1, then.Priors.Depth.Spread.Joint))
	index := map[string]int{}
	for i, n := range m.names {
		index[n] = i
	}
	turn, err := m.drawOf(then, func(x []float64) float64 {
		var pts [maxPoints]geometry.Point
		m.points(x, &pts)
		foot, back := pts[index["front-ankle"]], pts[index["back-ankle"]]
		along := foot.Sub(back).Unit()
		apart := pts[index["front-hip"]].Sub(pts[index["back-hip"]]).Dot(along)
		joints := 2 * then.Priors.Depth.Joint["hip"] * m.stature * m.grown(&pts) * x[at]
		return math.Asin(max(-1, min(1, apart/joints))) * 180 / math.Pi
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
