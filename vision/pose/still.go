package pose

import (
	"context"
	"math"

	"ecart/geometry"
)

// Still looks for a person in one picture: in all of it, or about Options.Athlete. Where
// two are seen and it was not said who is meant, the error is an *Error.
func (f *Finder) Still(ctx context.Context, p Picture, o Options) (*Body, error) {
	f.pointedAt, f.unsure = o.Athlete != nil, false
	by := max(1, int(math.Ceil(float64(max(p.Bounds().Dx(), p.Bounds().Dy()))/keptSide)))
	small := shrink(p, p.Bounds(), by)
	view := plain{small}
	var first *Body
	var err error
	if a := o.Athlete; a != nil {
		x, y := small.place(*a)
		first, err = f.search(ctx, view, anyWay, at(view, geometry.Point{X: x, Y: y})...)
	} else {
		for _, rotations := range [][]geometry.Angle{upright, turned} {
			if first, err = f.anywhere(ctx, view, rotations); first != nil || err != nil {
				break
			}
		}
	}
	if err != nil {
		return nil, err
	}
	if first == nil {
		return nil, f.nobody()
	}
	if o.Athlete == nil {
		if err := f.another(ctx, small, first); err != nil {
			return nil, err
		}
	}
	first = first.enlarged(small)
	exact, err := f.follow(ctx, p, first.next(), 2)
	if exact != nil {
		first = exact
	}
	return first, err
}

// another is an error if a second person is in the picture, about as large as the first.
func (f *Finder) another(ctx context.Context, small *reduced, first *Body) error {
	const (
		sure  = 0.8
		large = 0.5 // of the first one's length
	)
	view := plain{small}
	about := first.next()
	for _, q := range parts(view, smallParts) {
		q.side = math.Max(q.side, about.side*0.7)
		if q.centre.Sub(about.centre).Norm() < about.side/3 {
			continue
		}
		b, err := f.follow(ctx, view, q, 2)
		if err != nil {
			return err
		}
		if b == nil || b.Person < sure || b.length() < large*first.length() || b.middle(hip).Sub(first.middle(hip)).Norm() < first.trunk() {
			continue
		}
		b, apart, err := f.confirm(ctx, view, b)
		if err != nil {
			return err
		}
		if apart > agreed {
			continue
		}
		e := &Error{Problem: TwoPeople}
		for _, one := range []*Body{first, b} {
			m := one.middle(hip)
			e.At = append(e.At, small.original(m.X, m.Y))
		}
		return e
	}
	return nil
}
