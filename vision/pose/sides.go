package pose

import "math"

// fullSwapCost is the cost of exchanging the legs of a body, in squared trunk lengths: that
// of one leg that moves a tenth of a trunk. It decides only where the movement does not.
// In a side view, a look at a square that is not narrower than the body's own costs a tenth of
// it: on the built-in leap, none of 18 looks at squares of 0.6 to 0.9 of that side took the
// left leg for the right one, but 4 of 6 at wider ones did. In a front view, of a straddle
// jump, it was the narrow squares that exchanged the legs, so that there all looks cost the same.
const (
	fullSwapCost = 0.01
	narrowBelow  = 0.93 // part of the side of Body.next
	frontalWidth = 0.35 // distance of the shoulders in trunk lengths: 0.8 from the front, 0 from the side
)

// swapCost is the cost of exchanging this body's sides, in squared trunk lengths.
func (b *Body) swapCost() float64 {
	if b.narrow() || b.Points[shoulder].At.Sub(b.Points[shoulder+1].At).Norm() > frontalWidth*b.trunk() {
		return fullSwapCost
	}
	return fullSwapCost / 10
}

// narrow reports whether the square looked at was clearly narrower than Body.next.
func (b *Body) narrow() bool { return b.square.side < narrowBelow*b.next().side }

// keepSides exchanges left and right of the legs, and of the arms, where the network took
// one for the other. Over all bodies together it takes the assignment with the least sum of
// squared movements from one body to the next (the Viterbi algorithm with two states) and of
// swap costs; these decide between an assignment and its opposite. Bodies are in order of time.
func keepSides(bodies []*Body) {
	assign(bodies, hip, centre)
	assign(bodies, shoulder, hip)
}

// assign does this for the points with indices from, which is a left one, up to but excluding to.
func assign(bodies []*Body, from, to int) {
	if len(bodies) < 2 {
		return
	}
	cost := [2]float64{0, bodies[0].swapCost()}
	cameFrom := make([][2]int, len(bodies))
	for i := 1; i < len(bodies); i++ {
		same, crossed := movement(bodies[i-1], bodies[i], from, to)
		var next [2]float64
		for s := range 2 {
			stay, change := cost[s]+same, cost[1-s]+crossed
			cameFrom[i][s], next[s] = s, stay
			if change < stay {
				cameFrom[i][s], next[s] = 1-s, change
			}
			next[s] += bodies[i].swapCost() * float64(s)
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
		state = cameFrom[i][state]
	}
}

// movement returns the sums of the squared movements of points from a to b, relative to the
// middle of the hips, in squares of the longer trunk's length: same with left going to left,
// crossed with left going to right.
func movement(a, b *Body, from, to int) (same, crossed float64) {
	unit := math.Max(math.Max(a.trunk(), b.trunk()), 1)
	ca, cb := a.middle(hip), b.middle(hip)
	squaredDistance := func(p, q int) float64 {
		d := a.Points[p].At.Sub(ca).Sub(b.Points[q].At.Sub(cb)).Norm() / unit
		return d * d
	}
	for i := from; i < to; i += 2 {
		same += squaredDistance(i, i) + squaredDistance(i+1, i+1)
		crossed += squaredDistance(i, i+1) + squaredDistance(i+1, i)
	}
	return same, crossed
}
