package desk

import (
	"math"
	"slices"

	"ecart/geometry"
	"ecart/vision/pose"
)

// parallelArms is the largest angle between the two upper arms, from the network, at which they count as parallel, radians.
// In 22 clips of handstands with parallel arms the network placed them 1 to 11 degrees apart (rms 7), with the near arm
// raised less in all. Every limit from 12 to 20 degrees accepts all of these; 8 would leave out 6. If arms are truly some
// degrees apart, the angle is wrong by half of that.
const parallelArms = 15 * math.Pi / 180

// armsMeasured reports whether the measure is an angle between upper arm and trunk.
func (p *proposer) armsMeasured() bool {
	return p.q.Measure.Name == "shoulder-flexion" || p.q.Measure.Name == "shoulder-extension"
}

// armsAlike reports whether the arms of a body are parallel, so that the mean of both sides is used.
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
	return math.Abs(math.Atan2(l.X*r.Y-l.Y*r.X, l.X*r.X+l.Y*r.Y)) <= parallelArms
}

// bothArms moves hip, shoulder and elbow of one side by as little as possible, so that they lie to each other as the middles
// of both sides do. Seen from the side, both sides' joints lie in nearly one place, and the differences that the network
// sees are mostly wrong: it sees the near arm raised less than the far one.
func bothArms(b *pose.Body, of []namedPoint) []namedPoint {
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

// seen decides from the bodies of a clip on which side of the trunk's line the chest is, which stays the same when somebody
// turns over. Without it, an angle past straight counts as one short of straight, and the moment is missed.
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
	switch { // a majority of two to one: legs and trunk hide the face, so that some are wrong
	case votes[0] > 2*votes[1]:
		p.front = 1
	case votes[1] > 2*votes[0]:
		p.front = -1
	}
}

// facing returns the way the chest of a body in the clip faces, "" if it is not known.
func (p *proposer) facing(b *pose.Body) geometry.Facing {
	return geometry.Facing(wayOf(frontwards(b).Scale(p.front)))
}

// frontwards returns the unit vector a quarter turn clockwise from hip to shoulder, in the picture, y down.
func frontwards(b *pose.Body) geometry.Vec {
	up := b.Middle("shoulder").At.Sub(b.Middle("hip").At)
	long := up.Norm()
	if long == 0 {
		return geometry.Vec{}
	}
	return geometry.Vec{X: -up.Y / long, Y: up.X / long}
}

// leastChest is the length of pose.Body.Chest below which the facing is not known, or towards the camera: seen from the side,
// the nose is about 0.2 trunk lengths in front of the ears.
const leastChest = 0.1

// wayOf returns left, right, up or down, whichever is nearest to c; "" if c is too short.
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

// facingOf returns the way the chest faces in most of the bodies: left, right, up or down; ""
// if they face the camera or it is not known.
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
