package reading

import (
	"math"

	"ecart/geometry"
)

// pair is two marks between which the body fixes the length: a part of stature.
type pair struct {
	a, b     string
	fraction float64
}

// between is the joint that can bend a whole limb.
var between = map[[2]string]string{
	{"hip", "ankle"}: "knee", {"ankle", "hip"}: "knee",
	{"shoulder", "wrist"}: "elbow", {"wrist", "shoulder"}: "elbow",
}

// fixedPairs are the pairs of marks of one side of the body, or of its middle,
// whose distance the body fixes. A whole limb counts only where the joint that
// could bend it is not marked.
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
	return out
}

func join(side, kind string) string {
	if side == "" {
		return kind
	}
	return side + "-" + kind
}

// statureInUnits is how long the athlete's stature shows: all the lengths that
// the body fixes together over their parts of stature, which evens out what
// marks and proportions stray by. Where the body fixes none, the longest distance
// between marks counts as half of it.
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

// segments are the places among the measure's own marks of its fixed pairs; how
// long they are together tells the scale of a drawn view.
func (m *model) segments(p *Priors) {
	place := map[string]int{}
	for i, n := range m.names {
		place[n] = i
	}
	for _, q := range p.fixedPairs(m.names) {
		m.pairs = append(m.pairs, [2]int{place[q.a], place[q.b]})
	}
}

func (m *model) together(pts *[maxPoints]geometry.Point) float64 {
	var sum float64
	for _, q := range m.pairs {
		v := pts[q[0]].Sub(pts[q[1]]) // of pixels or millimetres: no need of Norm's care about overflow
		sum += math.Sqrt(v.Dot(v))
	}
	return sum
}

// settle takes the body's size from the image to the plane of motion: what lies
// towards the camera, or before a rectangle, shows larger than it is. shown are
// the marks in the image.
func (m *model) settle(x []float64, shown *[maxPoints]geometry.Point) {
	if len(m.pairs) == 0 {
		return
	}
	var pts [maxPoints]geometry.Point
	m.points(x, &pts)
	part := m.together(&pts) / m.together(shown)
	m.stature *= part
	if m.pxPerMm == 0 {
		m.perMm *= part
		m.points(x, &pts)
		m.length = m.together(&pts)
	}
}

// grown is by how much a drawn view makes the body larger than the mean one
// does; 1 where the scale is known from elsewhere.
func (m *model) grown(pts *[maxPoints]geometry.Point) float64 {
	if m.length == 0 {
		return 1
	}
	return m.together(pts) / m.length
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

// least keeps the drawn scale above zero.
const least = 0.2
