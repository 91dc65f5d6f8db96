package pose

import (
	"fmt"
	"math"

	"ecart/geometry"
	"ecart/vision/see"
)

// Indices of the network's points. Each left point is followed by the right one.
const (
	nose       = 0
	shoulder   = 11
	elbow      = 13
	wrist      = 15
	hip        = 23
	knee       = 25
	ankle      = 27
	heel       = 29
	toe        = 31
	centre     = 33 // the centre of the body
	circle     = 34 // a point on the circle round the body, above its centre
	points     = 39
	values     = 5 // of a point: x, y, z, visibility, presence
	leftEar    = 7
	rightEar   = 8
	limbsBegin = shoulder
	limbsEnd   = 33
)

// Point is one point of a body.
type Point struct {
	At geometry.Point // px of the upright picture
	// Depth is the distance behind the middle of the hips, px; negative is nearer to the
	// camera. It is a rough estimate.
	Depth float64
	// Visible is the probability that the point is not hidden, Present that it lies in the picture.
	Visible, Present float64
}

// Body is the result of one look: one run of the network on a square.
type Body struct {
	Points [points]Point
	Person float64 // the probability that a person is there
	square square  // the square that the network looked at
}

// bodyOf reads the network's answer, which is in pixels of the square.
func bodyOf(s *see.Seen, q square) (*Body, error) {
	if len(s.Values) != 2 || len(s.Values[0]) != points*values || len(s.Values[1]) != 1 {
		return nil, fmt.Errorf("%w: the pose network answers with %d values", see.ErrStopped, len(s.Values))
	}
	b := &Body{Person: float64(s.Values[1][0]), square: q}
	for i := range b.Points {
		v := s.Values[0][i*values:]
		b.Points[i] = Point{
			At:      q.picture(geometry.Point{X: float64(v[0]), Y: float64(v[1])}),
			Depth:   float64(v[2]) * q.side / inner,
			Visible: logistic(float64(v[3])), Present: logistic(float64(v[4])),
		}
	}
	return b, nil
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// next returns the square in which the body stands upright: about its centre, with a side of 2.5 radii of the
// circle round the body, a quarter more than the circle's diameter.
func (b *Body) next() square {
	c, up := b.Points[centre].At, b.Points[circle].At.Sub(b.Points[centre].At)
	return square{centre: c, side: 2.5 * up.Norm(), turn: geometry.Angle(math.Atan2(up.X, -up.Y))}
}

// score rates how far a look can be trusted, from 0 to 1. It is the product of the probability that a person is
// there, the mean probability that the limbs are in the picture, and (1 + cos turn) / 2 for a person turned in the
// square, since the network was trained on upright people.
func (b *Body) score() float64 {
	present := 0.0
	for i := limbsBegin; i < limbsEnd; i++ {
		present += b.Points[i].Present / (limbsEnd - limbsBegin)
	}
	upright := (1 + math.Cos(float64(b.next().turn-b.square.turn))) / 2
	return b.Person * present * upright
}

// middle returns the point half-way between a left point, given by its index, and its right one, px.
func (b *Body) middle(left int) geometry.Point {
	return midpoint(b.Points[left].At, b.Points[left+1].At)
}

func midpoint(p, q geometry.Point) geometry.Point {
	return geometry.Point{X: (p.X + q.X) / 2, Y: (p.Y + q.Y) / 2}
}

// trunk is the distance from the middle of the shoulders to the middle of the hips, px.
func (b *Body) trunk() float64 { return b.middle(shoulder).Sub(b.middle(hip)).Norm() }

// length is the length of the trunk and the longer leg together, px: some 0.78 of stature where both lie in the
// picture's plane.
func (b *Body) length() float64 {
	leg := 0.0
	for side := range 2 {
		h, k, a := b.Points[hip+side].At, b.Points[knee+side].At, b.Points[ankle+side].At
		leg = math.Max(leg, k.Sub(h).Norm()+a.Sub(k).Norm())
	}
	return b.trunk() + leg
}

// swap exchanges left and right points, from index from up to but excluding to.
func (b *Body) swap(from, to int) {
	for i := from; i < to; i += 2 {
		b.Points[i], b.Points[i+1] = b.Points[i+1], b.Points[i]
	}
}

// Side is a side of the body.
type Side int

// The two sides of the body: offsets to the index of a left point.
const (
	Left Side = iota
	Right
)

// leftPointOf is the index of the left point of each kind of landmark.
var leftPointOf = map[string]int{"shoulder": shoulder, "elbow": elbow, "wrist": wrist, "hip": hip, "knee": knee, "ankle": ankle, "toe": toe}

// Of returns a landmark of one side. kind is hip, shoulder, elbow, wrist, knee, ankle or
// toe.
func (b *Body) Of(kind string, s Side) Point { return b.Points[leftPointOf[kind]+int(s)] }

// Middle returns the point half-way between the left and the right landmark. Its Visible and
// Present are the larger of the two.
func (b *Body) Middle(kind string) Point {
	l, r := b.Of(kind, Left), b.Of(kind, Right)
	return Point{At: midpoint(l.At, r.At), Depth: (l.Depth + r.Depth) / 2, Visible: math.Max(l.Visible, r.Visible), Present: math.Max(l.Present, r.Present)}
}

// Near returns the side that is nearer to the camera, by the depths of shoulder, hip and knee.
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

// Length is the length of the trunk and the longer leg together in the picture, px: some 0.78 of stature where
// both lie in the picture's plane.
func (b *Body) Length() float64 { return b.length() }

// Chest returns the direction in which the chest faces in the picture: the offset from the ears to the nose,
// across the trunk, in trunk lengths, y down. It is short where the person faces the camera or away from it.
func (b *Body) Chest() geometry.Vec {
	up := b.middle(shoulder).Sub(b.middle(hip))
	length := up.Norm()
	if length == 0 {
		return geometry.Vec{}
	}
	across := geometry.Vec{X: -up.Y / length, Y: up.X / length}
	face := b.Points[nose].At.Sub(midpoint(b.Points[leftEar].At, b.Points[rightEar].At))
	return across.Scale((face.X*across.X + face.Y*across.Y) / length)
}
