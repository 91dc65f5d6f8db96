package reading

import (
	"math"

	"ecart/geometry"
)

// pair is two marks whose distance is a fixed fraction of stature.
type pair struct {
	a, b     string
	fraction float64
}

// between is the joint in the middle of a whole limb, by the limb's ends.
var between = map[[2]string]string{
	{"hip", "ankle"}: "knee", {"ankle", "hip"}: "knee",
	{"shoulder", "wrist"}: "elbow", {"wrist", "shoulder"}: "elbow",
	{"hip", "shoulder"}: "ribs", {"shoulder", "hip"}: "ribs",
}

// fixedPairs lists the pairs of marks, of one side of the body or without a side, whose distance the
// body fixes. A whole limb counts only if the joint in its middle is not marked. Where there is none of them, the
// distance between the shoulders counts.
func (p *Priors) fixedPairs(names []string) []pair {
	marked := map[string]bool{}
	for _, n := range names {
		marked[n] = true
	}
	var out []pair
	for i, a := range names {
		for _, b := range names[:i] {
			sa, sb := sideOf(a), sideOf(b)
			f, ok := p.fraction(a, b)
			if !ok || sa != sb && sa != "" && sb != "" {
				continue
			}
			if j, ok := between[[2]string{kindOf(a), kindOf(b)}]; ok && (marked[join(sa, j)] || marked[join(sb, j)]) {
				continue
			}
			out = append(out, pair{a, b, f})
		}
	}
	if l, r := "left-shoulder", "right-shoulder"; len(out) == 0 && marked[l] && marked[r] { // of a body seen from the front
		out = append(out, pair{l, r, 2 * p.Depth.Joint["shoulder"]})
	}
	return out
}

func join(side, kind string) string {
	if side == "" {
		return kind
	}
	return side + "-" + kind
}

// statureInUnits is the athlete's stature in image units: the sum of all lengths that the body fixes
// divided by the sum of their fractions of stature, which averages errors of marks and
// proportions. If there are none, it is twice the longest distance between marks.
func statureInUnits(names []string, at map[string]geometry.Point, p *Priors) float64 {
	var length, part, longest float64
	for _, q := range p.fixedPairs(names) {
		length += at[q.a].Sub(at[q.b]).Norm()
		part += q.fraction
	}
	if part > 0 {
		return length / part
	}
	for i, a := range names {
		for _, b := range names[:i] {
			longest = math.Max(longest, at[a].Sub(at[b]).Norm())
		}
	}
	return 2 * longest
}

// segments sets the fixed pairs among the measure's own marks; their total length gives the scale of a
// drawn view.
func (m *model) segments(p *Priors) {
	place := map[string]int{}
	for i, n := range m.names {
		place[n] = i
	}
	for _, q := range p.fixedPairs(m.names) {
		m.pairs = append(m.pairs, [2]int{place[q.a], place[q.b]})
	}
}

// totalLength is the sum of the lengths of the fixed pairs.
func (m *model) totalLength(pts *[maxPoints]geometry.Point) float64 {
	var sum float64
	for _, q := range m.pairs {
		v := pts[q[0]].Sub(pts[q[1]]) // px or mm: cannot overflow, so Norm is not needed
		sum += math.Sqrt(v.Dot(v))
	}
	return sum
}

// settle corrects the body's size from the image to the plane of motion: what is nearer to the camera
// than the plane, or in front of a rectangle, appears larger than it is. shown are the marks in
// the image.
func (m *model) settle(x []float64, shown *[maxPoints]geometry.Point) {
	if len(m.pairs) == 0 {
		return
	}
	var pts [maxPoints]geometry.Point
	m.points(x, &pts)
	ratio := m.totalLength(&pts) / m.totalLength(shown)
	m.stature *= ratio
	if m.pxPerMm == 0 {
		m.perMm *= ratio
		m.points(x, &pts)
		m.length = m.totalLength(&pts)
	}
}

// grown is the ratio of the body's size in a drawn view to that in the mean view; 1 if the scale is
// known independently.
func (m *model) grown(pts *[maxPoints]geometry.Point) float64 {
	if m.length == 0 {
		return 1
	}
	return m.totalLength(pts) / m.length
}

// growth is the derivative of grown by each point.
func (m *model) growth(pts *[maxPoints]geometry.Point) (by [maxPoints]geometry.Vec) {
	if m.length == 0 {
		return by
	}
	for _, q := range m.pairs {
		u := pts[q[0]].Sub(pts[q[1]]).Unit().Scale(1 / m.length)
		by[q[0]] = by[q[0]].Add(u)
		by[q[1]] = by[q[1]].Sub(u)
	}
	return by
}

// leastScale is the smallest drawn scale, relative to its mean; it keeps the scale above zero.
const leastScale = 0.2
