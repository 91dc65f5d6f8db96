package pose

import (
	"context"
	"image"
	"math"

	"ecart/geometry"
)

// The network reports a person in much that is none, and wrong limbs for a person who is turned in the square. Its points
// then scatter from one square to the next. Where a person stands upright in the square, three looks
// at squares of different sizes agree.
const (
	leastToConfirm = 0.1 // of Body.Person: less is not looked at again
	// mostDisagreement is the largest disagreement of looks that counts as agreement. On three pictures of the drawn athlete, two photographs
	// of a person and a drawn dog: 0.012 to 0.018 for a person upright in the square, 0.017 to 0.032 (one 0.059) for five
	// straddle jumps at their widest, 0.05 and more for all 36 others, of any rotation, and 0.074 for the dog.
	mostDisagreement = 0.04
)

// confirmingLooks are the squares of the further looks, relative to the first one's: factor of the side, shift to the
// right as a part of the side, and turn, radians.
var confirmingLooks = []struct {
	size, shift float64
	turn        geometry.Angle
}{{1.2, -0.05, 0.2}, {0.85, 0.05, -0.2}}

// confirm looks again at the square in which a body stands upright. It returns this look and its disagreement with
// further ones, +Inf where one of them finds nobody. Unless the user pointed at the athlete, it stops once looks disagree.
func (f *Finder) confirm(ctx context.Context, p Picture, b *Body) (*Body, float64, error) {
	none := math.Inf(1)
	first, err := f.look(ctx, p, b.next())
	if err != nil || first.Person < leastToConfirm || !fits(first.next(), p) {
		return nil, none, err
	}
	f.unsure = f.unsure || first.Person >= leastPerson
	if first.score() < leastScore {
		return nil, none, nil
	}
	looks, differ := []*Body{first}, 0.0
	for _, v := range confirmingLooks {
		q := first.next()
		q.centre.X += v.shift * q.side
		q.side *= v.size
		q.turn += v.turn
		c, err := f.look(ctx, p, q)
		if err != nil || c.Person < leastPerson {
			return nil, none, err
		}
		looks = append(looks, c)
		if differ = disagreement(looks, p.Bounds()); differ > mostDisagreement && !f.pointedAt {
			break
		}
	}
	return first, differ, nil
}

// joints are the left points in which looks are compared.
var joints = []int{shoulder, elbow, wrist, hip, knee, ankle}

// leastJoints is how many of the twelve joints must lie in the picture: shoulders, hips and two more.
const leastJoints = 6

// disagreement is how far looks at one body differ: the rms distance of the looks from their mean, as a part of the body's
// length, and of this the median over the joints in the picture. Left and right joints may be exchanged from look to look.
// It is +Inf where fewer than leastJoints lie in the picture.
func disagreement(looks []*Body, picture image.Rectangle) float64 {
	var all, lengths []float64
	for _, b := range looks {
		lengths = append(lengths, b.length())
	}
	length := median(lengths)
	if length == 0 {
		return math.Inf(1)
	}
	for _, k := range joints {
		var sides [2][]geometry.Point
		for _, b := range looks {
			l, r := b.Points[k].At, b.Points[k+1].At
			if len(sides[0]) > 0 {
				a, b := sides[0][0], sides[1][0]
				if l.Sub(a).Norm()+r.Sub(b).Norm() > l.Sub(b).Norm()+r.Sub(a).Norm() {
					l, r = r, l
				}
			}
			sides[0], sides[1] = append(sides[0], l), append(sides[1], r)
		}
		for _, places := range sides {
			if m, rms := scatter(places); image.Pt(int(m.X), int(m.Y)).In(picture) {
				all = append(all, rms/length)
			}
		}
	}
	if len(all) < leastJoints {
		return math.Inf(1)
	}
	return median(all)
}

// scatter returns the mean of places and their rms distance from it.
func scatter(places []geometry.Point) (m geometry.Point, rms float64) {
	n := float64(len(places))
	for _, p := range places {
		m.X, m.Y = m.X+p.X/n, m.Y+p.Y/n
	}
	sum := 0.0
	for _, p := range places {
		d := p.Sub(m).Norm()
		sum += d * d / n
	}
	return m, math.Sqrt(sum)
}
