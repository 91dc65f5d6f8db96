package pose

import "math"

// swapCost is what a body costs whose legs are exchanged, in squares of a trunk's
// length: as much as one leg that moves a tenth of a trunk. It decides only where the
// movement does not. A look at a square that is no narrower than the body's own counts a
// tenth: on the built-in leap, of 18 looks at squares of 0.6 to 0.9 of it none took the
// left leg for the right, of 6 at wider ones 4 did. That is so from the side: of a person who is seen from the front
// it was the narrow squares that had the one for the other, in a straddle jump, so that there all looks count alike.
const (
	swapCost  = 0.01
	narrowly  = 0.93
	frontally = 0.35 // between the shoulders, of the trunk: 0.8 from the front, 0 from the side
)

// vote is what exchanging this body costs.
func (b *Body) vote() float64 {
	if b.narrow() || b.Points[shoulder].At.Sub(b.Points[shoulder+1].At).Norm() > frontally*b.trunk() {
		return swapCost
	}
	return swapCost / 10
}

// narrow reports whether the square was narrower than the body asks for.
func (b *Body) narrow() bool { return b.square.side < narrowly*b.next().side }

// keepSides exchanges left and right of the legs, and of the arms, where the network took
// the one for the other: over all bodies together it takes the assignment whose squared
// movements from one to the next are the least (the Viterbi algorithm with two states).
// Of the two assignments that are left, one the other's opposite, it takes the one that
// exchanges less. Bodies are in order of time.
func keepSides(bodies []*Body) {
	assign(bodies, hip, centre)
	assign(bodies, shoulder, hip)
}

// assign does so for the points from the left one numbered from, up to before to.
func assign(bodies []*Body, from, to int) {
	if len(bodies) < 2 {
		return
	}
	cost := [2]float64{0, bodies[0].vote()}
	came := make([][2]int, len(bodies))
	for i := 1; i < len(bodies); i++ {
		same, crossed := movement(bodies[i-1], bodies[i], from, to)
		var next [2]float64
		for s := range 2 {
			stay, change := cost[s]+same, cost[1-s]+crossed
			came[i][s], next[s] = s, stay
			if change < stay {
				came[i][s], next[s] = 1-s, change
			}
			next[s] += bodies[i].vote() * float64(s)
		}
		cost = next
	}
	state := 0
	if cost[1] < cost[0] {
		state = 1
	}
	for i := len(bodies) - 1; i >= 0; i-- {
		if state == 1 {
			bodies[i].swap(from, to)
		}
		state = came[i][state]
	}
}

// movement is the sum of the squared movements from a to b, relative to the body's centre,
// in squares of the longer of the trunks: with left going to left, and with left going to
// right.
func movement(a, b *Body, from, to int) (same, crossed float64) {
	unit := math.Max(math.Max(a.trunk(), b.trunk()), 1)
	ca, cb := a.middle(hip), b.middle(hip)
	at := func(p, q int) float64 {
		d := a.Points[p].At.Sub(ca).Sub(b.Points[q].At.Sub(cb)).Norm() / unit
		return d * d
	}
	for i := from; i < to; i += 2 {
		same += at(i, i) + at(i+1, i+1)
		crossed += at(i, i+1) + at(i+1, i)
	}
	return same, crossed
}
