package desk

import (
	"math"

	"ecart/geometry"
	"ecart/vision/pose"
)

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
