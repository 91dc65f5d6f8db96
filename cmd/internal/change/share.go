package change

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/mat"

	"ecart/cmd/internal/reading"
	"ecart/geometry/uncertainty"
)

// Rule says that two readings that agree in certain fields have a part of one source's error
// in common. A common error shifts both angles by the same amount: it cancels in their
// difference and does not average out in their mean.
type Rule struct {
	Source string  // of the budget
	When   string  // in what the two readings agree, in words
	Part   float64 // of the source's variance, which they have in common
	Why    string

	// of returns the fields in which two readings have to agree; "" is a field that is not
	// known. Nil: the rule does not apply to the reading.
	fields func(*Reading) []string
}

// Rules returns all rules; their parts add up if several apply. The figures are our own
// estimates; repeated readings of the athlete would give better ones. Placement is never
// shared: it is what scatters when a point is marked again. Nor is timing: the moment of
// the peak between two frames differs from leap to leap.
//
// Two readings whose fields differ share no error by the rule. If a field is not known the
// two may or may not share it; each result then uses the case with the larger
// uncertainty: see errorModel.variance.
func Rules() []Rule { return rules }

var rules = []Rule{
	{reading.SourceLandmark, "rater and side", 0.5,
		"whoever feels for a bone finds the same place too high or too far back each time; within and between raters a place scatters by about as much (Della Croce 2005, Gait Posture 21:226, second-hand), which leaves about half of the variance to the rater's habit",
		func(r *Reading) []string { return []string{r.Rater, known(r.Side)} }},
	{reading.SourceLens, "lens file", 0.5,
		"the same wrong figures bend both pictures, but the body may stand elsewhere in them",
		func(r *Reading) []string { return withLens(r, r.Lens) }},
	{reading.SourceLens, "lens file and set-up", 0.4,
		"the body stands at about the same place in the picture too",
		func(r *Reading) []string { return withLens(r, r.Lens, r.Setup) }},
	{reading.SourceLens, "set-up, without a lens file", 0.9,
		"one camera, and the body at about the same place in the picture",
		func(r *Reading) []string {
			if r.Lens != "" {
				return nil
			}
			return []string{r.Setup}
		}},
	{reading.SourcePerspective, "set-up", 0.9,
		"the camera stands as far off, and near things are as much bigger",
		func(r *Reading) []string { return []string{r.Setup} }},
	{reading.SourceDepth, "athlete, set-up and side", 0.5,
		"seen from the same side, one body is as wide each time; how far a leg opens out is another matter each time",
		func(r *Reading) []string { return []string{r.Athlete, r.Setup, known(r.Side)} }},
	{reading.SourceOblique, "set-up and session", 0.5,
		"a camera that is not moved looks askew by the same angle; how the athlete runs past it does not stay, and on another day it is set up anew",
		func(r *Reading) []string { return []string{r.Setup, session(r)} }},
	{reading.SourceLevel, "set-up and session", 0.5,
		"a camera that is not moved leans by the same angle; on another day it is set up anew",
		func(r *Reading) []string { return []string{r.Setup, session(r)} }},
}

// withLens returns the fields, or nil for a reading without a lens file.
func withLens(r *Reading, fields ...string) []string {
	if r.Lens == "" {
		return nil
	}
	return fields
}

// session identifies the reading's day and session; "" if the day is not known.
func session(r *Reading) string {
	if r.AnyDay {
		return ""
	}
	return r.day().Format("2006-01-02") + " " + r.Session
}

// alikeness is the result of comparing two readings' fields.
type alikeness int

const (
	different alikeness = iota // some known field differs
	perhaps                    // no known field differs, and some field is not known
	same                       // all fields are known and equal
)

func compareFields(a, b []string) alikeness {
	out := same
	for i := range a {
		switch {
		case a[i] == "" || b[i] == "":
			out = perhaps
		case a[i] != b[i]:
			return different
		}
	}
	return out
}

// common is the standard uncertainty, degrees, of the error that the reading shares by the
// rule with readings of equal fields. If the variances of the budget's sources add up to
// more than the total, they are reduced in proportion. The interaction is not a source.
func (r *Reading) common(rule *Rule) float64 {
	if rule.fields(r) == nil {
		return 0
	}
	var sum float64
	for _, s := range sortedKeys(r.Sources) {
		if s != uncertainty.Interaction {
			sum += r.Sources[s] * r.Sources[s]
		}
	}
	cut := 1.0
	if whole := r.StandardDeg * r.StandardDeg; sum > whole {
		cut = whole / sum
	}
	return math.Abs(r.Sources[rule.Source]) * math.Sqrt(rule.Part*cut)
}

// errorModel is the covariance of readings, degrees^2: each reading's own variance and, for
// each rule, the readings grouped by their fields.
type errorModel struct {
	own    []float64  // variance without what is certainly shared with another of the readings
	least  []float64  // variance without what is certainly or perhaps shared with another of them
	total  []float64  // variance
	shared [][]cell   // by rule
	may    [][][2]int // by rule: pairs of cells that may share, since a field is not known
}

// cell is a group of readings with the same fields by one rule.
type cell struct {
	fields  []string
	members []int     // indices of the readings
	u       []float64 // of each: standard uncertainty of the common error, degrees
}

// sure reports whether the readings of the cell certainly share the error: no field is
// unknown.
func (c *cell) sure() bool { return compareFields(c.fields, c.fields) == same }

// newErrorModel groups the readings into the rules' cells. An error that a reading shares
// with none of the other readings is its own.
func newErrorModel(rs []Reading) *errorModel {
	m := &errorModel{own: make([]float64, len(rs)), least: make([]float64, len(rs)), total: make([]float64, len(rs)), shared: make([][]cell, len(rules)), may: make([][][2]int, len(rules))}
	for i := range rs {
		m.total[i] = rs[i].StandardDeg * rs[i].StandardDeg
		m.own[i], m.least[i] = m.total[i], m.total[i]
	}
	for k := range rules {
		index := map[string]int{}
		var cells []cell
		for i := range rs {
			fields := rules[k].fields(&rs[i])
			u := rs[i].common(&rules[k])
			if fields == nil || u == 0 {
				continue
			}
			key := strings.Join(fields, "\x00")
			c, ok := index[key]
			if !ok {
				c = len(cells)
				index[key] = c
				cells = append(cells, cell{fields: fields})
			}
			cells[c].members, cells[c].u = append(cells[c].members, i), append(cells[c].u, u)
		}
		m.shared[k] = cells
		others := make([]bool, len(cells)) // it shares, or may share, with readings outside of the cell
		for a := range cells {
			for b := range a {
				if compareFields(cells[a].fields, cells[b].fields) == perhaps {
					m.may[k] = append(m.may[k], [2]int{a, b})
					others[a], others[b] = true, true
				}
			}
		}
		for j, c := range cells {
			for a, i := range c.members {
				if len(c.members) > 1 && c.sure() {
					m.own[i] -= c.u[a] * c.u[a]
				}
				if len(c.members) > 1 || others[j] {
					m.least[i] -= c.u[a] * c.u[a]
				}
			}
		}
	}
	for i := range m.own { // keep it above 0 in spite of rounding
		m.own[i], m.least[i] = math.Max(m.own[i], 1e-12*m.total[i]), math.Max(m.least[i], 1e-12*m.total[i])
	}
	return m
}

// variance is the variance of the sum of w[i] times reading i, degrees^2. Two readings that
// may or may not share an error get the covariance with the larger result: shared if their
// weights have the same sign, as in a mean; independent if the signs are opposite, as in a
// difference. Each pair is decided separately, so this is an upper bound.
func (m *errorModel) variance(w []float64) (v float64) {
	for i := range w {
		v += w[i] * w[i] * m.total[i]
	}
	for rule, cells := range m.shared {
		above, below := make([]float64, len(cells)), make([]float64, len(cells)) // sums of w u, by sign
		for k, c := range cells {
			var squares float64
			for a, i := range c.members {
				squares += w[i] * w[i] * c.u[a] * c.u[a]
			}
			above[k], below[k] = c.sums(w)
			if c.sure() {
				sum := above[k] + below[k]
				v += sum*sum - squares
			} else {
				v += above[k]*above[k] + below[k]*below[k] - squares
			}
		}
		for _, p := range m.may[rule] {
			v += 2 * (above[p[0]]*above[p[1]] + below[p[0]]*below[p[1]])
		}
	}
	return math.Max(0, v)
}

// unsaid is the part of variance(w), degrees^2, from errors that readings may share although their fields differ,
// since one lacks a field that the other has. drawTogether has all of the rest.
func (m *errorModel) unsaid(w []float64) float64 {
	var v float64
	for rule, pairs := range m.may {
		for _, p := range pairs {
			aboveA, belowA := m.shared[rule][p[0]].sums(w)
			aboveB, belowB := m.shared[rule][p[1]].sums(w)
			v += 2 * (aboveA*aboveB + belowA*belowB)
		}
	}
	return v
}

// through is the covariance of x times the readings as far as it is known, for the weights
// of a fit: each reading's own variance, the same without what it may share, and errors that are certainly
// shared. It skips the zeros of x, which are most of it.
func (m *errorModel) through(x *mat.Dense) (own, least, shared *mat.SymDense) {
	rows, n := x.Dims()
	own, least, shared = mat.NewSymDense(rows, nil), mat.NewSymDense(rows, nil), mat.NewSymDense(rows, nil)
	touched := make([][]int, n) // by reading, the rows in which it has a weight
	for r := range rows {
		for i, v := range x.RawRowView(r) {
			if v != 0 {
				touched[i] = append(touched[i], r)
			}
		}
	}
	add := func(to *mat.SymDense, rowsOf []int, times func(a, b int) float64) {
		for k, a := range rowsOf {
			for _, b := range rowsOf[k:] {
				to.SetSym(a, b, to.At(a, b)+times(a, b))
			}
		}
	}
	for i, rowsOf := range touched {
		add(own, rowsOf, func(a, b int) float64 { return x.At(a, i) * m.own[i] * x.At(b, i) })
		add(least, rowsOf, func(a, b int) float64 { return x.At(a, i) * m.least[i] * x.At(b, i) })
	}
	moved := make([]float64, rows) // effect of one common error on each row, degrees
	seen := make([]bool, rows)
	for _, cells := range m.shared {
		for _, c := range cells {
			if len(c.members) < 2 || !c.sure() {
				continue
			}
			var rowsOf []int
			for k, i := range c.members {
				for _, r := range touched[i] {
					if !seen[r] {
						seen[r] = true
						rowsOf = append(rowsOf, r)
					}
					moved[r] += x.At(r, i) * c.u[k]
				}
			}
			add(shared, rowsOf, func(a, b int) float64 { return moved[a] * moved[b] })
			for _, r := range rowsOf {
				moved[r], seen[r] = 0, false
			}
		}
	}
	return own, least, shared
}

// points returns the data of a fit to x times the readings, whose values are y.
func (m *errorModel) points(x *mat.Dense, y []float64) points {
	own, least, shared := m.through(x)
	rows, n := x.Dims()
	return points{y: y, own: own, least: least, shared: shared, widest: func(w []float64) float64 {
		weights := make([]float64, n)
		for r := range rows {
			for i, v := range x.RawRowView(r) {
				weights[i] += w[r] * v
			}
		}
		return m.variance(weights)
	}}
}

// means returns the weights of the readings in the mean of each group, in inverse
// proportion to their own variance: without what they may share, so that a name that is
// left out changes no mean.
func (m *errorModel) means(groups [][]int) *mat.Dense {
	out := mat.NewDense(len(groups), len(m.own), nil)
	for g, members := range groups {
		var sum float64
		for _, i := range members {
			sum += 1 / m.least[i]
		}
		for _, i := range members {
			out.Set(g, i, 1/m.least[i]/sum)
		}
	}
	return out
}

// sharedKey identifies the common error of a reading by a rule, for [drawTogether]; "" if
// it has none. Readings with an unknown field are taken to share it with readings of their
// own condition and not with other conditions, which widens both levels and gaps.
func sharedKey(rule int, r *Reading) string {
	fields := rules[rule].fields(r)
	if fields == nil {
		return ""
	}
	key := strconv.Itoa(rule) + "\x00" + strings.Join(fields, "\x00")
	for _, f := range fields {
		if f == "" {
			return key + "\x00?" + r.Condition
		}
	}
	return key
}
