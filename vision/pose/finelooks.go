package pose

import (
	"context"
	"math"
	"slices"

	"ecart/geometry"
	"ecart/vision/take"
)

// lookFinely adds moments in full resolution for every every-th frame from..to, and looks at every second of these: the legs'
// outlines need the picture alone. Of the others it keeps the square, for lookLater where the outlines do not suffice.
func (f *Finder) lookFinely(ctx context.Context, t *take.Take, out *Found, from, to, every int, report func(float64)) error {
	known := map[int]bool{}
	for _, m := range out.Moments {
		if m.fine {
			known[m.Frame] = true
		}
	}
	var added []Moment
	n, total := 0, (to-from)/every+1
	err := t.Span(ctx, from, to, func(p *take.Frame) error {
		if p.Index%every != 0 || known[p.Index] || p.Damaged {
			return nil
		}
		n++
		report(float64(n) / float64(total+1))
		q, ok := out.squareAt(p.Index)
		if !ok {
			return nil
		}
		k := p.Index / every
		q = q.varied(k)
		m := Moment{Frame: p.Index, Time: t.TrueTime(p.Index), fine: true}
		m.picture = shrink(p, p.Bounds(), out.ground.by)
		coarse, seen := out.at(p.Index)
		switch {
		case k%2 == 0:
			b, err := f.follow(ctx, p, q, 2)
			if err != nil {
				return err
			}
			if m.Body = b; b == nil && seen {
				m.Body = coarse.Body
			}
		case seen:
			m.Body = coarse.Body
		default:
			m.pending = &pendingLook{q, q.cut(p)}
		}
		m.support = out.supportOf(m.Body, m.picture)
		added = append(added, m)
		return nil
	})
	if err != nil {
		return err
	}
	for _, m := range added { // replaces the moment of the reduced picture
		out.Moments = slices.DeleteFunc(out.Moments, func(o Moment) bool { return o.Frame == m.Frame })
	}
	out.Moments = append(out.Moments, added...)
	slices.SortFunc(out.Moments, func(a, b Moment) int { return a.Frame - b.Frame })
	return nil
}

// at returns the moment of a frame.
func (f *Found) at(frame int) (*Moment, bool) {
	i := slices.IndexFunc(f.Moments, func(m Moment) bool { return m.Frame == frame })
	if i < 0 {
		return nil, false
	}
	return &f.Moments[i], true
}

// pendingLook is a square with its pixels, at which the network has not looked yet.
type pendingLook struct {
	square
	rgb []byte
}

// lookLater looks at the squares that lookFinely kept, in the frames from..to.
func (f *Finder) lookLater(ctx context.Context, out *Found, from, to int) error {
	for i := range out.Moments {
		m := &out.Moments[i]
		if m.pending == nil || m.Frame < from || m.Frame > to {
			continue
		}
		b, err := f.lookAt(ctx, m.pending.square, m.pending.rgb)
		if err != nil {
			return err
		}
		m.pending = nil
		if b.Person >= leastPerson && b.score() >= leastScore {
			m.Body, m.support = b, out.supportOf(b, m.picture)
		}
	}
	return nil
}

// squareAt interpolates the square in a frame between those of the moments on both sides of it. It is false where there is
// no body.
func (f *Found) squareAt(frame int) (square, bool) {
	var before, after *Moment
	for i := range f.Moments {
		m := &f.Moments[i]
		if m.Body == nil {
			continue
		}
		if m.Frame <= frame {
			before = m
		} else {
			after = m
			break
		}
	}
	switch {
	case before == nil && after == nil:
		return square{}, false
	case before == nil:
		return after.Body.next(), true
	case after == nil:
		return before.Body.next(), true
	}
	a, b := before.Body.next(), after.Body.next()
	k := float64(frame-before.Frame) / float64(after.Frame-before.Frame)
	turn := math.Remainder(float64(b.turn-a.turn), 2*math.Pi)
	return square{centre: a.centre.Add(b.centre.Sub(a.centre).Scale(k)), side: a.side + k*(b.side-a.side), turn: a.turn + geometry.Angle(k*turn)}, true
}
