package pose

import (
	"fmt"
	"math"

	"ecart/geometry"
	"ecart/vision/see"
)

// Numbers of the network's points. A left point is followed by the same one of the right.
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
	centre     = 33 // of the body
	circle     = 34 // on the circle round the body, above its centre
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
	// Depth is how far it lies behind the middle of the hips, px; negative is nearer to the
	// camera. It is rough.
	Depth float64
	// Visible is the probability that it is in sight, Present that it is in the picture.
	Visible, Present float64
}

// Body is what one look of the network shows.
type Body struct {
	Points [points]Point
	Person float64 // the probability that somebody is there
	square square
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

// next is the square in which the body stands upright: about its centre, 2.5 times as wide
// as the circle's radius, which leaves a quarter of it free.
func (b *Body) next() square {
	c, up := b.Points[centre].At, b.Points[circle].At.Sub(b.Points[centre].At)
	return square{centre: c, side: 2.5 * up.Norm(), turn: geometry.Angle(math.Atan2(up.X, -up.Y))}
}

// score says how much a look is to be believed, from 0 to 1: that somebody is there, that
// the limbs are in the picture, and that the person stands upright in the square, as the
// network was trained.
func (b *Body) score() float64 {
	present := 0.0
	for i := limbsBegin; i < limbsEnd; i++ {
		present += b.Points[i].Present / (limbsEnd - limbsBegin)
	}
	upright := (1 + math.Cos(float64(b.next().turn-b.square.turn))) / 2
	return b.Person * present * upright
}

// middle is half-way between a left point and its right one.
func (b *Body) middle(left int) geometry.Point {
	return mean(b.Points[left].At, b.Points[left+1].At)
}

func mean(p, q geometry.Point) geometry.Point {
	return geometry.Point{X: (p.X + q.X) / 2, Y: (p.Y + q.Y) / 2}
}

// trunk is the distance from the middle of the shoulders to the middle of the hips, px.
func (b *Body) trunk() float64 { return b.middle(shoulder).Sub(b.middle(hip)).Norm() }

// length is that of trunk and longer leg, px: some 0.78 of stature where both lie in the
// picture's plane.
func (b *Body) length() float64 {
	leg := 0.0
	for side := range 2 {
		h, k, a := b.Points[hip+side].At, b.Points[knee+side].At, b.Points[ankle+side].At
		leg = math.Max(leg, k.Sub(h).Norm()+a.Sub(k).Norm())
	}
	return b.trunk() + leg
}

// swap exchanges the left points with the right ones, from one number up to another.
func (b *Body) swap(from, to int) {
	for i := from; i < to; i += 2 {
		b.Points[i], b.Points[i+1] = b.Points[i+1], b.Points[i]
	}
}
