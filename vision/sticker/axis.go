package sticker

// axis is the line of colours from what lies around a sticker to the sticker, chosen so that the
// two are told apart best: f = w . (light - around) is 0 around and 1 on the sticker.
//
//	w = S^-1 (inside - around) / (inside - around)^T S^-1 (inside - around)
//
// with S the mean covariance of the colours on either side (Fisher 1936, Ann Eugenics 7:179).
// For one colour around and noise alone S is the noise, and f holds all that the three channels
// say about where the rim is. Where skin and wall both lie around, S is long from skin to wall,
// and w turns away from that: skin, wall and what mixes of them all show as 0.
type axis struct {
	w, around, inside [3]float64
}

// moments gathers the mean and the covariance of colours.
type moments struct {
	n    float64
	sum  [3]float64
	prod [6]float64 // 00 01 02 11 12 22
}

func (m *moments) add(c *[3]float32) {
	r, g, b := float64(c[0]), float64(c[1]), float64(c[2])
	m.n++
	m.sum[0] += r
	m.sum[1] += g
	m.sum[2] += b
	m.prod[0] += r * r
	m.prod[1] += r * g
	m.prod[2] += r * b
	m.prod[3] += g * g
	m.prod[4] += g * b
	m.prod[5] += b * b
}

func (m *moments) mean() (c [3]float64) {
	for i := range c {
		c[i] = m.sum[i] / m.n
	}
	return c
}

func (m *moments) covariance() (c [6]float64) {
	mean, k := m.mean(), 0
	for i := range 3 {
		for j := i; j < 3; j++ {
			c[k] = max(m.prod[k]/m.n-mean[i]*mean[j], 0)
			if i != j {
				c[k] = m.prod[k]/m.n - mean[i]*mean[j]
			}
			k++
		}
	}
	return c
}

// leastVariance is that of rounding to eight bits where the light is about a third: a step of
// 1/255 there is 0.005 of linear light, and a twelfth of its square 2e-6.
const leastVariance = 2e-6

// structured is the weight of the colours around a sticker against those in it: what differs
// around is not noise but edges, whose errors hang together.
const structured = 3

// makeAxis returns false where the two sides are of one colour.
func makeAxis(inside, around [3]float64, si, so [6]float64) (axis, bool) {
	a := axis{inside: inside, around: around}
	var s [6]float64
	for i := range s {
		s[i] = (si[i] + structured*so[i]) / 2
	}
	s[0] += leastVariance
	s[3] += leastVariance
	s[5] += leastVariance
	d := [3]float64{inside[0] - around[0], inside[1] - around[1], inside[2] - around[2]}
	// the adjugate of S, times d
	a.w[0] = (s[3]*s[5]-s[4]*s[4])*d[0] + (s[2]*s[4]-s[1]*s[5])*d[1] + (s[1]*s[4]-s[2]*s[3])*d[2]
	a.w[1] = (s[2]*s[4]-s[1]*s[5])*d[0] + (s[0]*s[5]-s[2]*s[2])*d[1] + (s[1]*s[2]-s[0]*s[4])*d[2]
	a.w[2] = (s[1]*s[4]-s[2]*s[3])*d[0] + (s[1]*s[2]-s[0]*s[4])*d[1] + (s[0]*s[3]-s[1]*s[1])*d[2]
	along := a.w[0]*d[0] + a.w[1]*d[1] + a.w[2]*d[2]
	if !(along > 0) {
		return a, false
	}
	for i := range a.w {
		a.w[i] /= along
	}
	return a, true
}

// grows is by how much f grows where the sticker is twice as light.
func (a *axis) grows() float64 {
	return a.w[0]*a.inside[0] + a.w[1]*a.inside[1] + a.w[2]*a.inside[2]
}

// of returns the share of the sticker's light in a colour: 0 around it, 1 on it.
func (a *axis) of(c *[3]float32) float64 {
	return a.w[0]*(float64(c[0])-a.around[0]) + a.w[1]*(float64(c[1])-a.around[1]) + a.w[2]*(float64(c[2])-a.around[2])
}
