package sticker

import (
	"math"

	"ecart/geometry"
)

// motion predicts where a sticker goes: along each axis of the picture a Kalman filter of place,
// velocity and acceleration, the acceleration fading with time and renewed at random (Singer
// 1970, IEEE Trans Aerosp Electron Syst 6:473). It only predicts; a mark is what was seen.
type motion struct {
	axes   [2]kalman
	jolt   float64 // standard deviation of a sudden jump of the place, in the last step, px
	radius float64
	push   float64 // standard deviation of the acceleration, px/s^2
	least  float64 // and the least that is assumed
	active float64 // mean square acceleration of late
}

type kalman struct {
	s [3]float64 // px, px/s, px/s^2
	p [3][3]float64
}

// A limb of a leaping athlete, in radii of a sticker of 25 mm: 10 m/s, 120 m/s^2 that lasts for a
// twelfth of a second, and never taken for less than 12 m/s^2.
const (
	usualSpeed = 400
	usualPush  = 4800
	leastPush  = 500
	joltPush   = 6000  // a foot that strikes the floor or leaves it
	pushLasts  = 0.085 // s
	pushMemory = 0.25  // s
)

func newMotion(at geometry.Point, cov [2][2]float64, radius float64) *motion {
	m := &motion{radius: radius, push: usualPush * radius, least: leastPush * radius}
	m.active = m.push * m.push
	for i, x := range [2]float64{at.X, at.Y} {
		k := &m.axes[i]
		k.s[0] = x
		k.p[0][0] = cov[i][i]
		k.p[1][1] = usualSpeed * usualSpeed * radius * radius / 4
		k.p[2][2] = m.push * m.push
	}
	return m
}

// predict goes on by dt seconds.
func (m *motion) predict(dt float64) {
	for i := range m.axes {
		m.axes[i].predict(dt, m.push)
	}
	m.jolt = joltPush * m.radius * dt * dt
}

func (k *kalman) predict(dt, push float64) {
	a := 1 / pushLasts
	e := math.Exp(-a * dt)
	f := [3][3]float64{{1, dt, (a*dt - 1 + e) / (a * a)}, {0, 1, (1 - e) / a}, {0, 0, e}}
	var s [3]float64
	var fp, p [3][3]float64
	for i := range 3 {
		for j := range 3 {
			s[i] += f[i][j] * k.s[j]
			for n := range 3 {
				fp[i][j] += f[i][n] * k.p[n][j]
			}
		}
	}
	for i := range 3 {
		for j := range 3 {
			for n := range 3 {
				p[i][j] += fp[i][n] * f[j][n]
			}
		}
	}
	// what comes anew, for steps short against pushLasts
	q := 2 * a * push * push
	d2, d3 := dt*dt, dt*dt*dt
	add := [3][3]float64{{d2 * d3 / 20, d2 * d2 / 8, d3 / 6}, {d2 * d2 / 8, d3 / 3, d2 / 2}, {d3 / 6, d2 / 2, dt}}
	for i := range 3 {
		for j := range 3 {
			p[i][j] += q * add[i][j]
		}
	}
	k.s, k.p = s, p
}

// see takes in a mark, dt seconds after the last.
func (m *motion) see(at geometry.Point, cov [2][2]float64, dt float64) {
	var squared, surprise float64
	for i, z := range [2]float64{at.X, at.Y} {
		k := &m.axes[i]
		v := k.p[0][0] + cov[i][i]
		off := z - k.s[0]
		surprise = math.Max(surprise, off*off/v)
		gain := [3]float64{k.p[0][0] / v, k.p[1][0] / v, k.p[2][0] / v}
		row := k.p[0]
		for a := range 3 {
			k.s[a] += gain[a] * off
			for b := range 3 {
				k.p[a][b] -= gain[a] * row[b]
			}
		}
		squared += (k.s[2]*k.s[2] + k.p[2][2]) / 2
	}
	keep := math.Exp(-dt / pushMemory)
	m.active = keep*m.active + (1-keep)*squared
	if surprise > 6 { // the motion is livelier than was thought
		m.active *= math.Min(surprise/6, 4)
	}
	m.push = math.Max(1.3*math.Sqrt(m.active), m.least)
}

func (m *motion) at() geometry.Point { return geometry.Point{X: m.axes[0].s[0], Y: m.axes[1].s[0]} }

func (m *motion) velocity() geometry.Vec { return geometry.Vec{X: m.axes[0].s[1], Y: m.axes[1].s[1]} }

func (m *motion) cov() [2][2]float64 {
	return [2][2]float64{{m.axes[0].p[0][0], 0}, {0, m.axes[1].p[0][0]}}
}

// speedVariance is that of the velocity, px^2/s^2, the larger one.
func (m *motion) speedVariance() float64 { return math.Max(m.axes[0].p[1][1], m.axes[1].p[1][1]) }

// away is minus twice the logarithm of how likely a mark is by what was predicted, but for a
// constant: the squared distance in standard deviations; or, with a small probability, the same
// with a jolt.
func (m *motion) away(at geometry.Point, cov [2][2]float64) float64 {
	plain := m.distance(at, cov)
	cov[0][0] += m.jolt * m.jolt
	cov[1][1] += m.jolt * m.jolt
	return math.Min(plain, joltCost+m.distance(at, cov))
}

const joltCost = 12

func (m *motion) distance(at geometry.Point, cov [2][2]float64) float64 {
	xx, yy, xy := m.axes[0].p[0][0]+cov[0][0], m.axes[1].p[0][0]+cov[1][1], cov[0][1]
	dx, dy := at.X-m.axes[0].s[0], at.Y-m.axes[1].s[0]
	return (dx*dx*yy - 2*dx*dy*xy + dy*dy*xx) / (xx*yy - xy*xy)
}

// spread is how far from where it was predicted a sticker may well be, px.
func (m *motion) spread() float64 {
	return math.Sqrt(math.Max(m.axes[0].p[0][0], m.axes[1].p[0][0]))
}

// set sets the velocity and how lively the motion is.
func (m *motion) set(v geometry.Vec, push float64) {
	m.push, m.active = push, push*push
	for i, s := range [2]float64{v.X, v.Y} {
		m.axes[i].s[1] = s
		m.axes[i].p[1][1] = push * push * pushLasts * pushLasts
		m.axes[i].p[2][2] = push * push
	}
}

// start sets the velocity from two places dt seconds apart.
func (m *motion) start(from, to geometry.Point, dt float64) {
	m.axes[0].s[1], m.axes[1].s[1] = (to.X-from.X)/dt, (to.Y-from.Y)/dt
	for i := range m.axes {
		k := &m.axes[i]
		k.p[1][1] = 4*k.p[0][0]/(dt*dt) + m.push*m.push*dt*dt
	}
}
