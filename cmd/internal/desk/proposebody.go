package desk

import (
	"math"
	"slices"

	"ecart/geometry"
	"ecart/vision/pose"
)

// oneWay is the greatest angle between the two upper arms, as the network has them, at which they count as raised alike,
// radians. In 22 clips of handstands with parallel arms the network had them 1 to 11 degrees apart (rms 7), the near one
// raised less in all: 12 to 20 degrees decide these alike, 8 would leave out 6. Of arms that are truly some degrees apart, the
// angle is off by half of that.
const oneWay = 15 * math.Pi / 180

// armsMeasured reports whether the measure is that of the upper arm against the trunk, of one side.
func (p *proposer) armsMeasured() bool {
	return p.q.Measure.Name == "shoulder-flexion" || p.q.Measure.Name == "shoulder-extension"
}

// armsAlike reports whether the arms of a body lie one way, so that both sides are taken together.
func (p *proposer) armsAlike(b *pose.Body) bool {
	if !p.armsMeasured() {
		return false
	}
	var arms [2]geometry.Vec
	for s := range arms {
		shoulder, elbow := b.Of("shoulder", pose.Side(s)), b.Of("elbow", pose.Side(s))
		if shoulder.Present < leastPresent || elbow.Present < leastPresent || b.Of("hip", pose.Side(s)).Present < leastPresent {
			return false
		}
		arms[s] = elbow.At.Sub(shoulder.At)
	}
	l, r := arms[0], arms[1]
	return math.Abs(math.Atan2(l.X*r.Y-l.Y*r.X, l.X*r.X+l.Y*r.Y)) <= oneWay
}

// together moves hip, shoulder and elbow of one side, so that they lie to each other as the middles of both sides do, each
// as little as that allows. Seen from the side, the network has the joints of both sides in nearly one place, and what it has
// apart is mostly wrong: it sees the near arm raised less than the other one.
func together(b *pose.Body, of []named) []named {
	of = slices.Clone(of)
	var shift geometry.Vec
	for _, l := range of {
		shift = shift.Add(l.At.Sub(b.Middle(l.kind).At).Scale(1 / float64(len(of))))
	}
	for i, l := range of {
		of[i].At = b.Middle(l.kind).At.Add(shift)
	}
	return of
}

// seen takes from the bodies of a clip on which side of the trunk the chest is. It stays the same when somebody turns over.
// Without it, an angle past straight counts as one short of it, and the moment is missed.
func (p *proposer) seen(bodies []*pose.Body) {
	var votes [2]int
	for _, b := range bodies {
		c, across := b.Chest(), frontwards(b)
		switch d := c.X*across.X + c.Y*across.Y; {
		case d > leastChest:
			votes[0]++
		case d < -leastChest:
			votes[1]++
		}
	}
	switch { // one in three may be wrong: legs and trunk hide the face
	case votes[0] > 2*votes[1]:
		p.front = 1
	case votes[1] > 2*votes[0]:
		p.front = -1
	}
}

// facing is the way the chest of a body in the clip faces, "" where it is not known.
func (p *proposer) facing(b *pose.Body) geometry.Facing {
	return geometry.Facing(wayOf(frontwards(b).Scale(p.front)))
}

// frontwards is the unit vector clockwise of the trunk's way up, in the picture, y down.
func frontwards(b *pose.Body) geometry.Vec {
	up := b.Middle("shoulder").At.Sub(b.Middle("hip").At)
	long := up.Norm()
	if long == 0 {
		return geometry.Vec{}
	}
	return geometry.Vec{X: -up.Y / long, Y: up.X / long}
}

// leastChest is the length of pose.Body.Chest below which the person faces the camera, or it cannot be told: the nose is some
// 0.2 of the trunk before the ears.
const leastChest = 0.1

// wayOf is left, right, up or down, whichever is nearest; "" of a vector too short.
func wayOf(c geometry.Vec) string {
	switch {
	case c.Norm() < leastChest:
		return ""
	case math.Abs(c.X) >= math.Abs(c.Y) && c.X < 0:
		return "left"
	case math.Abs(c.X) >= math.Abs(c.Y):
		return "right"
	case c.Y < 0:
		return "up"
	}
	return "down"
}

// facingOf is the way the chest faces in most of the bodies: left, right, up or down; ""
// where they face the camera or it cannot be told.
func facingOf(bodies []*pose.Body) string {
	votes := map[string]int{}
	for _, b := range bodies {
		votes[wayOf(b.Chest())]++
	}
	best := ""
	for _, way := range []string{"left", "right", "up", "down"} {
		if votes[way] > votes[best] {
			best = way
		}
	}
	return best
}
