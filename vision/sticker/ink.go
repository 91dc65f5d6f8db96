package sticker

import (
	"math"

	"ecart/vision/take"
)

// ink is the model of the colours that a sticker may show. All are coded values, 0 to 255. There, a change of light by a
// factor is a factor too (a power law), so that one constant serves for bright and dim places.
//
// The colour of a pixel on the sticker varies with noise and light, and with the share of the
// ground where the rim or a motion blur crosses the pixel:
//
//	colour = mean + share (ground - mean) + e,  0 <= share <= 1/2
//	e ~ (0, noise^2 I + spread + light^2 mean mean^T)
//
// The distance of a colour is the Mahalanobis distance of e, for the share that makes it smallest.
type ink struct {
	mean, ground   vec
	linear         vec // the mean as linear light
	inverse        sym // of the covariance of e
	spread         sym // covariance of the colours within the sticker in its seed's frame
	axis           vec // inverse * (ground - mean)
	groundDistance float64
	limit          float64 // squared distance up to which a colour counts as the sticker's
}

const (
	// codedNoise is the standard deviation of coded colours, levels: 2 to 3 from a sensor in a hall, and as much or more
	// from an encoder. Too large a value only admits more candidates.
	codedNoise = 5

	// codedLight is the standard deviation of the light as a part of a coded value. Light at two places of a hall differs by a
	// half: 1.5^(1/2.2) = 1.2.
	codedLight = 0.2

	// mostMixed is the largest share of the ground in a pixel that counts as the sticker's.
	mostMixed = 0.5

	// mostDistance is the largest distance of a colour, in standard deviations.
	mostDistance = 3.0
)

func newInk(mean, ground vec, spread sym) ink {
	k := ink{mean: mean, ground: ground, spread: spread, limit: mostDistance * mostDistance}
	k.linear = vec{decode(mean.r), decode(mean.g), decode(mean.b)}
	s := spread.plus(sym{}, 0, codedNoise*codedNoise)
	s.outer(mean, codedLight*codedLight)
	k.inverse = s.inverse()
	d := ground.sub(mean)
	k.axis = k.inverse.times(d)
	k.groundDistance = math.Max(d.dot(k.axis), 1e-9)
	return k
}

// contrast returns the distance of the mean colour from that of the ground, coded levels.
func (k *ink) contrast() float64 {
	d := k.mean.sub(k.ground)
	return math.Sqrt(d.dot(d))
}

// distance returns the squared distance of a colour, +Inf where more than half of it is the ground's.
func (k *ink) distance(c vec) float64 {
	d, _ := k.mixed(c)
	return d
}

// mixed returns the squared distance of a colour, for the share of the ground that makes it smallest, and that share. Where more than
// half is the ground's, as in most pixels, it returns +Inf early.
func (k *ink) mixed(c vec) (distance, share float64) {
	q := c.sub(k.mean)
	along := q.dot(k.axis)
	if along > mostMixed*k.groundDistance {
		return math.Inf(1), 1
	}
	share = max(along/k.groundDistance, 0)
	return max(k.inverse.form(q)-2*share*along+share*share*k.groundDistance, 0), share
}

// has reports whether a colour counts as the sticker's.
func (k *ink) has(c vec) bool { return k.distance(c) <= k.limit }

// palette is a table by the number of a colour: a bit for each of up to 64 inks that have the colour (inks), and for each that has it
// nearly unmixed with the ground (pure). all has the colours of all inks.
type palette struct {
	all        take.ColourSet
	inks, pure [1 << 15]uint64
}

// cellSlack is the distance of a colour from the middle of those with its number, in standard deviations: half a step of 8, less than twice
// codedNoise, of one channel. Without it, a sticker with a narrow ink falls into several blobs.
const cellSlack = 4.0 / codedNoise

func newPalette(inks []*ink) *palette {
	p := &palette{}
	for i := range p.inks {
		var c vec
		c.r, c.g, c.b = take.MiddleColour(uint16(i))
		for n, k := range inks {
			d, share := k.mixed(c)
			if reach := math.Min(math.Sqrt(k.limit)+cellSlack, mostDistance); d <= reach*reach {
				p.all.Add(uint16(i))
				p.inks[i] |= 1 << n
				if share <= mostMixed/2 {
					p.pure[i] |= 1 << n
				}
			}
		}
	}
	return p
}

// vec is a colour; a struct, since Go does not keep arrays in registers. sym is a symmetric 3 by 3 matrix over colours: its elements
// 00 01 02 11 12 22.
type (
	vec struct{ r, g, b float64 }
	sym [6]float64
)

// add returns a + k b.
func (a vec) add(b vec, k float64) vec { return vec{a.r + k*b.r, a.g + k*b.g, a.b + k*b.b} }
func (a vec) sub(b vec) vec            { return vec{a.r - b.r, a.g - b.g, a.b - b.b} }
func (a vec) dot(b vec) float64        { return a.r*b.r + a.g*b.g + a.b*b.b }

// times returns m v.
func (m *sym) times(v vec) vec {
	return vec{m[0]*v.r + m[1]*v.g + m[2]*v.b, m[1]*v.r + m[3]*v.g + m[4]*v.b, m[2]*v.r + m[4]*v.g + m[5]*v.b}
}

// form returns v^T m v.
func (m *sym) form(v vec) float64 { return v.dot(m.times(v)) }

// outer adds k v v^T to m.
func (m *sym) outer(v vec, k float64) {
	m[0] += k * v.r * v.r
	m[1] += k * v.r * v.g
	m[2] += k * v.r * v.b
	m[3] += k * v.g * v.g
	m[4] += k * v.g * v.b
	m[5] += k * v.b * v.b
}

// plus returns m + k o + d I.
func (m sym) plus(o sym, k, d float64) sym {
	for i := range m {
		m[i] += k * o[i]
	}
	m[0] += d
	m[3] += d
	m[5] += d
	return m
}

// adjugate returns the inverse times the determinant.
func (m *sym) adjugate() sym {
	return sym{m[3]*m[5] - m[4]*m[4], m[2]*m[4] - m[1]*m[5], m[1]*m[4] - m[2]*m[3], m[0]*m[5] - m[2]*m[2], m[1]*m[2] - m[0]*m[4], m[0]*m[3] - m[1]*m[1]}
}

func (m *sym) determinant() float64 {
	r := m.adjugate()
	return m[0]*r[0] + m[1]*r[1] + m[2]*r[2]
}

// inverse returns the inverse of a positive definite matrix.
func (m sym) inverse() sym { return sym{}.plus(m.adjugate(), 1/m.determinant(), 0) }

// moments accumulates the mean and the covariance of colours.
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
