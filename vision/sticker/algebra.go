package sticker

import "math"

// vec is a colour, a struct since Go keeps no array in registers; sym is a symmetric matrix over colours: 00 01 02 11 12 22.
type (
	vec struct{ r, g, b float64 }
	sym [6]float64
)

func (a vec) add(b vec, k float64) vec { return vec{a.r + k*b.r, a.g + k*b.g, a.b + k*b.b} }
func (a vec) sub(b vec) vec            { return vec{a.r - b.r, a.g - b.g, a.b - b.b} }
func (a vec) dot(b vec) float64        { return a.r*b.r + a.g*b.g + a.b*b.b }

// times is the matrix times v.
func (m *sym) times(v vec) vec {
	return vec{m[0]*v.r + m[1]*v.g + m[2]*v.b, m[1]*v.r + m[3]*v.g + m[4]*v.b, m[2]*v.r + m[4]*v.g + m[5]*v.b}
}

// form is v^T m v.
func (m *sym) form(v vec) float64 { return v.dot(m.times(v)) }

// outer adds k v v^T.
func (m *sym) outer(v vec, k float64) {
	m[0] += k * v.r * v.r
	m[1] += k * v.r * v.g
	m[2] += k * v.r * v.b
	m[3] += k * v.g * v.g
	m[4] += k * v.g * v.b
	m[5] += k * v.b * v.b
}

// plus is m + k o, with d more on the diagonal.
func (m sym) plus(o sym, k, d float64) sym {
	for i := range m {
		m[i] += k * o[i]
	}
	m[0] += d
	m[3] += d
	m[5] += d
	return m
}

// inverse is that of a positive matrix.
func (m sym) inverse() (r sym) {
	r = sym{m[3]*m[5] - m[4]*m[4], m[2]*m[4] - m[1]*m[5], m[1]*m[4] - m[2]*m[3], m[0]*m[5] - m[2]*m[2], m[1]*m[2] - m[0]*m[4], m[0]*m[3] - m[1]*m[1]}
	det := m[0]*r[0] + m[1]*r[1] + m[2]*r[2]
	for i := range r {
		r[i] /= det
	}
	return r
}

// moments gathers the mean and the covariance of colours.
type moments struct {
	n    float64
	sum  vec
	prod sym
}

func (m *moments) add(c vec) {
	m.n++
	m.sum = m.sum.add(c, 1)
	m.prod.outer(c, 1)
}

func (m *moments) mean() vec { return vec{}.add(m.sum, 1/math.Max(m.n, 1)) }

func (m *moments) covariance() (c sym) {
	n := math.Max(m.n, 1)
	mean := m.mean()
	for i := range c {
		c[i] = m.prod[i] / n
	}
	c.outer(mean, -1)
	return c
}
