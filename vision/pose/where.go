package pose

import (
	"math"

	"ecart/geometry"
)

// Side is a side of the body.
type Side int

// The two sides of the body, as the network numbers them.
const (
	Left Side = iota
	Right
)

// kinds are the network's left points by landmark.
var kinds = map[string]int{"shoulder": shoulder, "elbow": elbow, "wrist": wrist, "hip": hip, "knee": knee, "ankle": ankle, "toe": toe}

// Of returns a landmark of one side; kind is hip, shoulder, elbow, wrist, knee, ankle or
// toe.
func (b *Body) Of(kind string, s Side) Point { return b.Points[kinds[kind]+int(s)] }

// Middle returns the point half-way between the left and the right landmark. It counts as
// present where either is.
func (b *Body) Middle(kind string) Point {
	l, r := b.Of(kind, Left), b.Of(kind, Right)
	return Point{At: mean(l.At, r.At), Depth: (l.Depth + r.Depth) / 2, Visible: math.Max(l.Visible, r.Visible), Present: math.Max(l.Present, r.Present)}
}

// Near is the side that is nearer to the camera, by the depths of shoulder, hip and knee.
func (b *Body) Near() Side {
	d := 0.0
	for _, kind := range []string{"shoulder", "hip", "knee"} {
		d += b.Of(kind, Left).Depth - b.Of(kind, Right).Depth
	}
	if d < 0 {
		return Left
	}
	return Right
}

// Length is the length of trunk and longer leg in the picture, px: 0.78 of stature where
// both lie in the picture's plane.
func (b *Body) Length() float64 { return b.length() }

// Chest is the way the chest faces in the picture, by where the nose stands before the
// ears across the trunk: a vector in trunk lengths, y down. It is short where the person
// faces the camera or away from it.
func (b *Body) Chest() geometry.Vec {
	up := b.middle(shoulder).Sub(b.middle(hip))
	long := up.Norm()
	if long == 0 {
		return geometry.Vec{}
	}
	across := geometry.Vec{X: -up.Y / long, Y: up.X / long}
	face := b.Points[nose].At.Sub(mean(b.Points[leftEar].At, b.Points[rightEar].At))
	return across.Scale((face.X*across.X + face.Y*across.Y) / long)
}
