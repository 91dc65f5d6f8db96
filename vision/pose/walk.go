package pose

import (
	"context"
	"image"
	"math"
	"slices"

	"ecart/geometry"
)

// walk goes from one kept picture to the next with the square.
type walk struct {
	f        *Finder
	found    *Found
	o        Options
	pictures []kept
	bodies   []*Body // one a picture, in px of the clip's frames
	still    bool    // the ground stands still, so that movers are known
	left     int     // searches that may still be made
	done     int
	tell     func()
}

// all finds the person in each picture: in the best one first, and from there to both ends.
func (w *walk) all(ctx context.Context) error {
	start, err := w.start(ctx)
	if err != nil {
		return err
	}
	for _, way := range []int{1, -1} {
		before := start
		for i := start + way; i >= 0 && i < len(w.pictures); i += way {
			if err := w.next(ctx, i, before); err != nil {
				return err
			}
			if w.bodies[i] != nil {
				before = i
			}
			w.tell()
		}
	}
	w.trustAll()
	return nil
}

// trustAll takes the ground for unknown where too many bodies do not lie on what stands out before it. A place is wrong
// in the median picture only if it is covered in half of the pictures.
func (w *walk) trustAll() {
	const most = 0.4 // of the bodies
	n, off := 0, 0
	for i, b := range w.bodies {
		if b != nil {
			n++
			if w.support(i, b) < supported {
				off++
			}
		}
	}
	if float64(off) > most*float64(n) {
		w.still, w.found.Still = false, false
	}
}

// start finds the person in the first picture that is looked at, and returns its index.
func (w *walk) start(ctx context.Context) (int, error) {
	if a := w.o.Athlete; a != nil {
		i := w.nearest(w.o.AthleteFrame)
		b, err := w.search(ctx, i, at(plain{w.pictures[i].picture}, w.inside(i, *a))...)
		if err == nil && b == nil {
			err = w.f.nobody()
		}
		w.bodies[i] = b
		w.trust(i)
		return i, err
	}
	if err := w.askWho(ctx); err != nil {
		return 0, err
	}
	order, best := w.order(), -1
	for _, i := range order {
		var squares []square
		if m := w.pictures[i].movers; w.still && len(m) > 0 {
			// what moves may be one limb of a body that stands: the larger square holds the rest
			for _, grow := range []float64{1.35, 2.7} {
				squares = append(squares, w.shrunk(i, m[0].square(grow)))
			}
		} else {
			squares = append(squares, wholePicture(plain{w.pictures[i].picture}))
		}
		b, err := w.search(ctx, i, squares...)
		if err != nil {
			return i, err
		}
		w.bodies[i] = b
		if w.support(i, b) >= supported {
			return i, nil
		}
		if b != nil && (best < 0 || w.support(i, b) > w.support(best, w.bodies[best])) {
			best = i
		}
	}
	if best >= 0 {
		w.trust(best)
		return best, nil
	}
	i := order[0]
	b, err := w.f.anywhere(ctx, plain{w.pictures[i].picture}, nil)
	if err == nil && b == nil {
		err = w.f.nobody()
	}
	w.bodies[i] = b.enlarged(w.pictures[i].picture)
	w.trust(i)
	return i, err
}

// trust takes the ground for unknown where the body in the i-th picture, on which the looks agree, does not lie on what
// stands out before it: whoever hardly moves, as in a handstand, is a part of the median picture.
func (w *walk) trust(i int) {
	if w.bodies[i] != nil && w.support(i, w.bodies[i]) < supported {
		w.still, w.found.Still = false, false
	}
}

// order is in which pictures the first search is made: those with the largest mover that
// does not touch the border, else some over the clip.
func (w *walk) order() []int {
	n := len(w.pictures)
	if !w.still {
		return dedupe([]int{n / 2, n / 4, 3 * n / 4, n / 8, 7 * n / 8})
	}
	weight := func(i int) float64 {
		m := w.pictures[i].movers
		if len(m) == 0 {
			return 0
		}
		if m[0].cut {
			return m[0].share / 4
		}
		return m[0].share
	}
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	slices.SortStableFunc(all, func(a, b int) int {
		switch wa, wb := weight(a), weight(b); {
		case wa > wb:
			return -1
		case wa < wb:
			return 1
		}
		return 0
	})
	return dedupe([]int{all[0], all[n/8], all[n/4], all[n/2], n / 2})
}

func dedupe(list []int) []int {
	slices.Sort(list[1:])
	var out []int
	for _, i := range list {
		if !slices.Contains(out, i) {
			out = append(out, i)
		}
	}
	return out
}

// askWho is an error if two people move, each large enough to be meant.
func (w *walk) askWho(ctx context.Context) error {
	const (
		comparable = 0.35 // of the larger one's area
		often      = 0.25 // of the pictures
	)
	if !w.still {
		return nil
	}
	count, best := 0, -1
	for i, k := range w.pictures {
		if len(k.movers) > 1 && k.movers[1].share > comparable*k.movers[0].share {
			count++
			if best < 0 || k.movers[1].share > w.pictures[best].movers[1].share {
				best = i
			}
		}
	}
	if best < 0 || float64(count) < often*float64(len(w.pictures)) {
		return nil
	}
	e := &Error{Problem: TwoPeople, Frame: w.pictures[best].frame}
	apart := 0.0
	for _, m := range w.pictures[best].movers[:2] {
		b, err := w.search(ctx, best, w.shrunk(best, m.square(1.35)))
		if err != nil {
			return err
		}
		if b == nil || m.distance(b.middle(hip)) > 0.2*b.length() {
			return nil
		}
		e.At = append(e.At, b.middle(hip))
		apart = math.Max(apart, b.trunk())
	}
	if e.At[1].Sub(e.At[0]).Norm() < apart { // one body, seen twice
		return nil
	}
	return e
}

// next finds the person in picture i, from where it was in picture before.
func (w *walk) next(ctx context.Context, i, before int) error {
	last := w.bodies[before]
	q := last.next()
	moved, seen := w.moved(before, i, last)
	q.centre = q.centre.Add(moved)
	b, err := w.follow(ctx, i, q)
	if err != nil {
		return err
	}
	alike := func(b *Body) bool {
		return b != nil && b.length() > 0.5*last.length() && b.length() < 2*last.length()
	}
	if !alike(b) {
		b = nil
	}
	w.bodies[i] = b
	if w.support(i, b) >= supported || b != nil && steady(last, b) {
		return nil
	}
	// nobody, or legs that may be wholly wrong: look again about what moves there, upright for whoever was
	if !seen {
		return nil // nothing moves there: whoever it was has left the picture
	}
	again := square{centre: q.centre, side: 1.15 * last.next().side}
	if !turnsLittle(q.turn) {
		again.turn = q.turn
	}
	if m := w.about(i, q); m != nil {
		again.centre = m.square(1).centre
		again.side = math.Max(m.square(1.35).side, again.side/1.5)
	}
	second, err := w.follow(ctx, i, again)
	if err != nil {
		return err
	}
	if alike(second) && turnsLittle(second.next().turn-last.next().turn) && w.support(i, second) > w.support(i, b) {
		w.bodies[i] = second
	}
	if w.support(i, w.bodies[i]) >= supported || w.left <= 0 {
		return nil
	}
	// a wrong body has a wrong square, which the next picture would take over: look as at the start, about as large as
	// the body is
	w.left--
	own := square{centre: again.centre, side: squareOfBody * last.length()}
	third, err := w.search(ctx, i, w.shrunk(i, again), w.shrunk(i, own))
	if alike(third) && w.support(i, third) > w.support(i, w.bodies[i]) {
		w.bodies[i] = third
	}
	return err
}

// turnsLittle reports whether a turn is less than 60 degrees: a body that turns by more between two pictures has to be
// found anew, by a search.
func turnsLittle(turn geometry.Angle) bool { return math.Cos(float64(turn)) > 0.5 }

// steady reports whether a body hardly moved against its hips from one picture to the next. Then it is as right as the
// one before, whatever stands out before the ground.
func steady(a, b *Body) bool {
	const most = 0.03 // of the body's length: as much as right looks at one picture are apart
	moved := *a
	shift := b.middle(hip).Sub(a.middle(hip))
	for i := range moved.Points {
		moved.Points[i].At = moved.Points[i].At.Add(shift)
	}
	far := math.MaxInt32
	return disagreement([]*Body{&moved, b}, image.Rect(-far, -far, far, far)) <= most
}

// squareOfBody is the side of the network's square as a multiple of trunk and longer leg: 1.8 to 2.3 in right looks at
// the drawn athlete in one clip.
const squareOfBody = 2

// support is Found.supportOf for a body in the i-th picture.
func (w *walk) support(i int, b *Body) float64 {
	return w.found.supportOf(b, w.pictures[i].picture)
}

// about is what moves nearest to a square in picture i, nil if nothing does.
func (w *walk) about(i int, q square) *mover {
	if !w.still {
		return nil
	}
	return nearestMover(w.pictures[i].movers, q.centre, q.side/3)
}

// nearestMover is what moves nearest to a place, nil if nothing does within that distance, px.
func nearestMover(list []mover, place geometry.Point, within float64) (best *mover) {
	for k := range list {
		if d := list[k].distance(place); d < within && (best == nil || d < best.distance(place)) {
			best = &list[k]
		}
	}
	return best
}

// moved is how far what moves about the body went from one picture to another, px, and
// whether anything moves there.
func (w *walk) moved(from, to int, b *Body) (geometry.Vec, bool) {
	if !w.still {
		return geometry.Vec{}, true
	}
	about := b.next()
	a := nearestMover(w.pictures[from].movers, about.centre, about.side/3)
	if a == nil {
		return geometry.Vec{}, false
	}
	c := nearestMover(w.pictures[to].movers, about.centre, about.side)
	if c == nil {
		return geometry.Vec{}, false
	}
	shift := c.centroid.Sub(a.centroid)
	// of a body that stands, a limb alone may be what moves: its centroid says little
	if ratio := c.share / a.share; ratio < 0.5 || ratio > 2 || shift.Norm() > about.side {
		shift = geometry.Vec{}
	}
	return shift, true
}

func (w *walk) nearest(frame int) (best int) {
	for i, k := range w.pictures {
		if abs(k.frame-frame) < abs(w.pictures[best].frame-frame) {
			best = i
		}
	}
	return best
}

// inside is a place of a frame in the kept picture's pixels.
func (w *walk) inside(i int, p geometry.Point) geometry.Point {
	x, y := w.pictures[i].picture.place(p)
	return geometry.Point{X: x, Y: y}
}

func (w *walk) shrunk(i int, q square) square {
	return square{w.inside(i, q.centre), q.side / float64(w.pictures[i].picture.by), q.turn}
}

func (w *walk) follow(ctx context.Context, i int, q square) (*Body, error) {
	b, err := w.f.follow(ctx, plain{w.pictures[i].picture}, w.shrunk(i, q), 2)
	return b.enlarged(w.pictures[i].picture), err
}

func (w *walk) search(ctx context.Context, i int, squares ...square) (*Body, error) {
	picture := w.pictures[i].picture
	judge := func(b *Body) float64 {
		original := *b
		return w.found.supportOf(original.enlarged(picture), picture)
	}
	b, err := w.f.search(ctx, plain{picture}, judge, squares...)
	return b.enlarged(picture), err
}

// enlarged puts a body that was found in a reduced picture into pixels of the original.
func (b *Body) enlarged(r *reduced) *Body {
	if b == nil {
		return nil
	}
	for i := range b.Points {
		p := &b.Points[i]
		p.At = r.original(p.At.X, p.At.Y)
		p.Depth *= float64(r.by)
	}
	b.square = square{r.original(b.square.centre.X, b.square.centre.Y), b.square.side * float64(r.by), b.square.turn}
	return b
}
