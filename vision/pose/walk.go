package pose

import (
	"context"
	"image"
	"math"

	"ecart/geometry"
	"ecart/geometry/uncertainty"
)

// walk goes from one kept picture to the next with the square.
type walk struct {
	f        *Finder
	found    *Found
	o        Options
	pictures []kept
	bodies   []*Body // one a picture, in px of the clip's frames
	looked   []bool
	left     int  // searches that may still be made
	still    bool // the ground stands still, so that movers are known
	done     int
	tell     func()
}

// all finds the person in every second picture: in the best one first, and from there to both ends. Then it looks at the
// pictures beside each that may be the widest.
func (w *walk) all(ctx context.Context) error {
	before := w.f.looks
	w.f.looked = func() { w.o.tell(0.2 + 0.1*math.Min(1, float64(w.f.looks-before)/mostAtStart)) }
	start, err := w.start(ctx)
	w.f.looked = nil
	if err != nil {
		return err
	}
	w.looked[start] = true
	for _, way := range []int{1, -1} {
		before := start
		for i := start + 2*way; i >= 0 && i < len(w.pictures); i += 2 * way {
			sure, err := w.step(ctx, i, before)
			if mid := i - way; !sure && err == nil && before == mid-way { // in smaller steps
				if _, err = w.next(ctx, mid, before); w.bodies[mid] != nil {
					before = mid
				}
			}
			if !sure && err == nil {
				sure, err = w.next(ctx, i, before)
			}
			if !sure && err == nil {
				err = w.anew(ctx, i)
			}
			if err != nil {
				return err
			}
			if w.bodies[i] != nil {
				before = i
			}
		}
	}
	w.trustAll()
	keepSides(w.known())
	if w.o.Seen != nil {
		w.o.Seen(w.known())
	}
	for _, i := range w.besideTops() {
		if _, err := w.next(ctx, i, w.nearestBody(i)); err != nil {
			return err
		}
	}
	return nil
}

// known are the bodies that were found, in order of time.
func (w *walk) known() (out []*Body) {
	for _, b := range w.bodies {
		if b != nil {
			out = append(out, b)
		}
	}
	return out
}

// nearestBody is the picture nearest to the i-th in which a body was found.
func (w *walk) nearestBody(i int) int {
	for d := 1; ; d++ {
		for _, k := range []int{i - d, i + d} {
			if k >= 0 && k < len(w.bodies) && w.bodies[k] != nil {
				return k
			}
		}
	}
}

// besideTops are the pictures that were not looked at and lie beside a top of the angle that is about as wide as the widest.
// Without an angle they are all that were not looked at.
func (w *walk) besideTops() (out []int) {
	var known []int
	var angles []float64
	widest := math.Inf(-1)
	for i, b := range w.bodies {
		if b == nil || w.o.Angle == nil || w.support(i, b) < supported {
			continue
		}
		if a := w.o.Angle(b); a == a {
			known, angles = append(known, i), append(angles, a)
			widest = math.Max(widest, a)
		}
	}
	wanted := make([]bool, len(w.pictures))
	for k, i := range known {
		if angles[k] < uncertainty.AsWide*widest || k > 0 && angles[k-1] > angles[k] || k+1 < len(known) && angles[k+1] > angles[k] {
			continue
		}
		from, to := 0, len(wanted)
		if k > 0 {
			from = known[k-1]
		}
		if k+1 < len(known) {
			to = known[k+1]
		}
		for j := from; j < to; j++ {
			wanted[j] = wanted[j] || abs(j-i) <= 3
		}
	}
	for i := range wanted {
		if !w.looked[i] && (wanted[i] || w.o.Angle == nil) {
			out = append(out, i)
		}
	}
	return out
}

// trustAll takes the ground for unknown where too many bodies do not lie on what stands out before it. A place is wrong
// in the median picture only if it is covered in half of the pictures.
func (w *walk) trustAll() {
	// Of the bodies. In 34 clips of leaps and straddle jumps it was 0 to 0.43 (mostly 0), in 4 of handstands 0.86 to 0.89:
	// 0.5 to 0.8 decide all alike. 0.4 would give up the ground of a straddle jump on the spot, whose angle was then 14 degrees off.
	const most = 0.6
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

// step looks for the person in picture i, from where it was in picture before, and reports whether the body is surely right.
func (w *walk) step(ctx context.Context, i, before int) (sure bool, err error) {
	defer w.tell()
	w.looked[i] = true
	last := w.bodies[before]
	shift, _ := w.moved(before, i, last)
	q := last.next()
	q.centre = q.centre.Add(shift)
	b, err := w.follow(ctx, i, q)
	if err != nil || b == nil || !alike(b, last) {
		return false, err
	}
	w.bodies[i] = b
	return w.sure(i, last), nil
}

// sure reports whether the body in picture i is right by all that is known, beside another one that is: the network is sure
// of it, it turns little, and it lies on what stands out, or hardly moved.
func (w *walk) sure(i int, last *Body) bool {
	// Of 80 looks at upright and turned bodies that were right, in 7 clips, 75 had a score of 0.9 and more; of 5 at somebody
	// who turned over and was taken for upright, 1.
	const sure = 0.9
	b := w.bodies[i]
	return b != nil && b.score() >= sure && turnsLittle(b.next().turn-last.next().turn) &&
		(w.support(i, b) >= supported || steady(last, b))
}

// alike reports whether two bodies are about of one size.
func alike(a, b *Body) bool { return a.length() > 0.5*b.length() && a.length() < 2*b.length() }

// next is step, with a second look where that is not sure: about what moves there, upright for whoever was.
func (w *walk) next(ctx context.Context, i, before int) (sure bool, err error) {
	w.bodies[i] = nil
	if sure, err = w.step(ctx, i, before); sure || err != nil {
		return sure, err
	}
	last := w.bodies[before]
	shift, seen := w.moved(before, i, last)
	if !seen {
		return true, nil // nothing moves there: whoever it was has left the picture
	}
	q := last.next()
	q.centre = q.centre.Add(shift)
	again := square{centre: q.centre, side: 1.15 * q.side}
	if !turnsLittle(q.turn) {
		again.turn = q.turn
	}
	if m := w.about(i, q); m != nil {
		again.centre = m.square(1).centre
		again.side = math.Max(m.square(1.35).side, again.side/1.5)
	}
	b, err := w.follow(ctx, i, again)
	if err != nil || b == nil {
		return false, err
	}
	if alike(b, last) && turnsLittle(b.next().turn-last.next().turn) && w.support(i, b) > w.support(i, w.bodies[i]) {
		w.bodies[i] = b
	}
	return w.sure(i, last), nil
}

// anew searches picture i as the first one was: whoever turns over fast is lost.
func (w *walk) anew(ctx context.Context, i int) error {
	if w.left == 0 {
		return nil
	}
	w.left--
	b, err := w.searchIn(ctx, i, anyWay)
	if b != nil && (w.bodies[i] == nil || w.support(i, b) >= w.support(i, w.bodies[i])) {
		w.bodies[i] = b
	}
	return err
}

// turnsLittle reports whether a turn is less than 60 degrees.
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

func (w *walk) search(ctx context.Context, i int, rotations []geometry.Angle, squares ...square) (*Body, error) {
	picture := w.pictures[i].picture
	b, err := w.f.search(ctx, plain{picture}, rotations, squares...)
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
