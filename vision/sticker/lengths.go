package sticker

import "math"

// lengths keeps how far the stickers are from each other. On one limb that changes slowly, which
// tells stickers of one colour apart where their places alone do not.
type lengths struct {
	n     int
	pairs []length
}

type length struct {
	log   float64 // of the distance when both were last seen, px
	age   float64 // s since then
	drift float64 // variance of the logarithm after a second
	known bool
}

const (
	usualDrift  = 4.0  // legs that open to twice the distance in a third of a second
	lengthFloor = 0.03 // of the logarithm
	driftMemory = 0.2  // s
	mostPull    = 9.0  // what a length may cost: it is a help and not a law
)

func newLengths(n int) *lengths { return &lengths{n: n, pairs: make([]length, n*n)} }

func (l *lengths) of(i, j int) *length { return &l.pairs[min(i, j)*l.n+max(i, j)] }

// cost is that of a distance between two stickers.
func (l *lengths) cost(i, j int, distance float64) float64 {
	p := l.of(i, j)
	if !p.known || distance < 1 {
		return 0
	}
	off := math.Log(distance) - p.log
	return math.Min(off*off/(p.drift*p.age+lengthFloor*lengthFloor), mostPull)
}

// pass lets time go by.
func (l *lengths) pass(dt float64) {
	for i := range l.pairs {
		l.pairs[i].age += dt
	}
}

// see takes in the distance of two stickers that are both seen.
func (l *lengths) see(i, j int, distance float64) {
	p := l.of(i, j)
	if distance < 1 {
		return
	}
	log := math.Log(distance)
	if !p.known {
		*p = length{log: log, drift: usualDrift, known: true}
		return
	}
	if p.age > 0 {
		k := 1 - math.Exp(-p.age/driftMemory)
		p.drift += k * ((log-p.log)*(log-p.log)/p.age - p.drift)
	}
	p.log, p.age = log, 0
}
