package change

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"ecart/cmd/internal/reading"
)

// Rule says that two readings which are alike in something have a part of one
// source's error in common. What is common to both moves both angles alike, so
// that it cancels in their difference.
type Rule struct {
	Source string  // of the budget
	When   string  // the two readings are alike in
	Part   float64 // of the source's variance that they have in common
	Why    string

	key func(*Reading) string // readings with the same key share; "" shares with none
}

// Rules are all there are; the parts add up where several hold. They are ours:
// repeated readings are the way to better figures, and a trend needs none of
// them, since it looks at the scatter itself. What is unknown is not shared.
// Placement never is: it is what scatters when a point is marked again. Nor is
// timing: no two leaps fall alike between the frames.
func Rules() []Rule { return rules }

var rules = []Rule{
	{reading.SourceLandmark, "rater and side", 0.5,
		"whoever feels for a bone finds the same place too high or too far back each time; within and between raters a place scatters by about as much (Della Croce 2005, Gait Posture 21:226, second-hand), which leaves about half of the variance to the rater's habit",
		func(r *Reading) string { return both(r.Rater, "rater/"+r.Side) }},
	{reading.SourceLens, "lens file", 0.5,
		"the same wrong figures bend both pictures, but the body may stand elsewhere in them",
		func(r *Reading) string { return r.Lens }},
	{reading.SourceLens, "lens file and set-up", 0.4,
		"the body stands at about the same place in the picture too",
		func(r *Reading) string { return both(r.Lens, r.Setup) }},
	{reading.SourceLens, "set-up, without a lens file", 0.9,
		"one camera, and the body at about the same place in the picture",
		func(r *Reading) string {
			if r.Lens != "" {
				return ""
			}
			return both(r.Setup, "no lens")
		}},
	{reading.SourcePerspective, "set-up", 0.9,
		"the camera stands as far off, and near things are as much bigger",
		func(r *Reading) string { return r.Setup }},
	{reading.SourceDepth, "set-up and side", 0.5,
		"seen from the same side, one body is as wide each time; how far a leg opens out is another matter each time",
		func(r *Reading) string { return both(r.Setup, "side/"+r.Side) }},
	{reading.SourceOblique, "set-up and session", 0.5,
		"a camera that is not moved looks askew by the same angle; how the athlete runs past it does not stay, and on another day it is set up anew",
		func(r *Reading) string { return both(r.Setup, session(r)) }},
	{reading.SourceLevel, "set-up and session", 0.5,
		"a camera that is not moved leans by the same angle; on another day it is set up anew",
		func(r *Reading) string { return both(r.Setup, session(r)) }},
}

func both(a, b string) string {
	if a == "" || b == "" {
		return ""
	}
	return a + "\x00" + b
}

func session(r *Reading) string { return r.day().Format("2006-01-02") + " " + r.Session }

// common is the standard uncertainty that the reading has in common, by the rule,
// with others of the same key. Sources add up to more than the whole where they
// work against each other; they are then cut down alike.
func (r *Reading) common(rule *Rule) float64 {
	if rule.key(r) == "" {
		return 0
	}
	var sum float64
	for _, source := range slices.Sorted(maps.Keys(r.Sources)) { // in one order, to the last bit
		u := r.Sources[source]
		sum += u * u
	}
	cut := 1.0
	if whole := r.StandardDeg * r.StandardDeg; sum > whole {
		cut = whole / sum
	}
	return math.Abs(r.Sources[rule.Source]) * math.Sqrt(rule.Part*cut)
}

// parted is the covariance of readings: what is each one's own (a diagonal), and
// what some of them have in common.
type parted struct {
	own    []float64
	shared sharing
}

// sharing is a covariance as the sum of u u' over its common errors. It is kept in
// this form since thousands of readings would make a matrix of millions.
type sharing []commonError

// commonError is by how much each of some readings is moved by one common error, a
// standard uncertainty for each of the readings in of.
type commonError struct {
	of []int
	u  []float64
}

// At is the covariance of two readings.
func (s sharing) At(i, j int) (v float64) {
	for _, c := range s {
		a, b := slices.Index(c.of, i), slices.Index(c.of, j)
		if a >= 0 && b >= 0 {
			v += c.u[a] * c.u[b]
		}
	}
	return v
}

// part works out which variance is whose. What a reading has in common with no
// other of them is its own.
func part(rs []Reading) parted {
	p := parted{own: make([]float64, len(rs))}
	for i := range rs {
		p.own[i] = rs[i].StandardDeg * rs[i].StandardDeg
	}
	for k := range rules {
		rule := &rules[k]
		groups := map[string][]int{}
		var order []string // so that sums come out the same each time
		for i := range rs {
			if key := rule.key(&rs[i]); key != "" {
				if groups[key] == nil {
					order = append(order, key)
				}
				groups[key] = append(groups[key], i)
			}
		}
		for _, key := range order {
			g := groups[key]
			if len(g) < 2 {
				continue
			}
			c := commonError{g, make([]float64, len(g))}
			for a, i := range g {
				c.u[a] = rs[i].common(rule)
				p.own[i] -= c.u[a] * c.u[a]
			}
			p.shared = append(p.shared, c)
		}
	}
	for i := range p.own { // of what is left of a difference of large numbers
		p.own[i] = math.Max(p.own[i], 1e-12*rs[i].StandardDeg*rs[i].StandardDeg)
	}
	return p
}

// through is the covariance of m times the readings; the own part is then a full
// matrix. Most of m is 0, and is passed over.
func (p parted) through(m *mat.Dense) (own, shared *mat.SymDense) {
	rows, n := m.Dims()
	own, shared = mat.NewSymDense(rows, nil), mat.NewSymDense(rows, nil)
	touched := make([][]int, n) // by reading, the rows that it goes into
	for r := range rows {
		for i, v := range m.RawRowView(r) {
			if v != 0 {
				touched[i] = append(touched[i], r)
			}
		}
	}
	add := func(to *mat.SymDense, of []int, times func(a, b int) float64) {
		for k, a := range of {
			for _, b := range of[k:] {
				to.SetSym(a, b, to.At(a, b)+times(a, b))
			}
		}
	}
	for i, of := range touched {
		add(own, of, func(a, b int) float64 { return m.At(a, i) * p.own[i] * m.At(b, i) })
	}
	moved := make([]float64, rows) // by one common error
	for _, c := range p.shared {
		var of []int
		for k, i := range c.of {
			for _, r := range touched[i] {
				if !slices.Contains(of, r) {
					of = append(of, r)
				}
				moved[r] += m.At(r, i) * c.u[k]
			}
		}
		add(shared, of, func(a, b int) float64 { return moved[a] * moved[b] })
		for _, r := range of {
			moved[r] = 0
		}
	}
	return own, shared
}

// sandwich is m v m'.
func sandwich(m mat.Matrix, v mat.Matrix) *mat.SymDense {
	var left, out mat.Dense
	left.Mul(m, v)
	out.Mul(&left, m.T())
	n, _ := out.Dims()
	s := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			s.SetSym(i, j, (out.At(i, j)+out.At(j, i))/2)
		}
	}
	return s
}

// means are the weights that take readings to one angle a group, by the inverse
// of what is each reading's own.
func (p parted) means(groups [][]int) *mat.Dense {
	m := mat.NewDense(len(groups), len(p.own), nil)
	for g, members := range groups {
		var sum float64
		for _, i := range members {
			sum += 1 / p.own[i]
		}
		for _, i := range members {
			m.Set(g, i, 1/p.own[i]/sum)
		}
	}
	return m
}
