package pose

import (
	"context"
	"image"
	"math"

	"ecart/geometry"
	"ecart/geometry/uncertainty"
)

// walk tracks the person through the kept pictures of a clip.
type walk struct {
	f            *Finder
	found        *Found
	o            Options
	pictures     []kept
	bodies       []*Body // one for each picture, in px of the clip's frames; nil: none found
	looked       []bool
	searchesLeft int  // searches that may still be made
	still        bool // the ground stands still, so that movers are known
	done         int
	report       func()
}

// run finds the person in one picture, and from there in every second one to both ends. Then it looks at the
// pictures beside each that may be the widest.
func (w *walk) run(ctx context.Context) error {
	before := w.f.looks
	w.f.onLook = func() { w.o.report(0.2 + 0.1*math.Min(1, float64(w.f.looks-before)/mostFirstLooks)) }
	start, err := w.start(ctx)
	w.f.onLook = nil
	if err != nil {
		return err
	}
	w.looked[start] = true
	for _, direction := range []int{1, -1} {
		before := start
		for i := start + 2*direction; i >= 0 && i < len(w.pictures); i += 2 * direction {
			sure, err := w.step(ctx, i, before)
			if mid := i - direction; !sure && err == nil && before == mid-direction { // in smaller steps
				if _, err = w.next(ctx, mid, before); w.bodies[mid] != nil {
					before = mid
				}
			}
			if !sure && err == nil {
				sure, err = w.next(ctx, i, before)
			}
			if !sure && err == nil {
				err = w.searchAgain(ctx, i)
			}
			if err != nil {
				return err
			}
			if w.bodies[i] != nil {
				before = i
			}
		}
	}
	w.checkGround()
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

// known returns the bodies that were found, in order of time.
func (w *walk) known() (out []*Body) {
	for _, b := range w.bodies {
		if b != nil {
			out = append(out, b)
		}
	}
	return out
}

// nearestBody returns the index of the picture nearest to the i-th in which a body was found. There must be one.
func (w *walk) nearestBody(i int) int {
	for d := 1; ; d++ {
		for _, k := range []int{i - d, i + d} {
			if k >= 0 && k < len(w.bodies) && w.bodies[k] != nil {
				return k
			}
		}
	}
}

// besideTops returns the pictures that were not looked at and lie beside a maximum of the angle that is about as wide as the
// widest. Without Options.Angle it returns all that were not looked at.
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

// checkGround marks the ground as unknown where too many bodies do not lie on the foreground. A place of the median picture is
// wrong only if it is covered in half of the pictures.
func (w *walk) checkGround() {
	// Part of the bodies without support. In 34 clips of leaps and straddle jumps it was 0 to 0.43 (mostly 0), in 4 of
	// handstands 0.86 to 0.89: limits of 0.5 to 0.8 decide all of them the same way. 0.4 would give up the ground of a straddle jump on the spot, whose angle was then 14 degrees off.
	const most = 0.6
	n, unsupported := 0, 0
	for i, b := range w.bodies {
		if b != nil {
			n++
			if w.support(i, b) < supported {
				unsupported++
			}
		}
	}
	if float64(unsupported) > most*float64(n) {
		w.still, w.found.Still = false, false
	}
}

// step looks for the person in picture i, starting from the place in picture before, and reports whether the body found is
// certainly right.
func (w *walk) step(ctx context.Context, i, before int) (sure bool, err error) {
	defer w.report()
	w.looked[i] = true
	last := w.bodies[before]
	shift, _ := w.moverShift(before, i, last)
	q := last.next()
	q.centre = q.centre.Add(shift)
	b, err := w.follow(ctx, i, q)
	if err != nil || b == nil || !similarLength(b, last) {
		return false, err
	}
	w.bodies[i] = b
	return w.sure(i, last), nil
}

// sure reports whether the body in picture i is right by all signs, given that last is right: its score is high, it turned
// little from last, and it lies on the foreground or hardly moved.
func (w *walk) sure(i int, last *Body) bool {
	// In 7 clips, 75 of 80 right looks at upright and turned bodies had a score of 0.9 or more, and 1 of 5 looks at somebody
	// who turned over and was taken for upright.
	const sure = 0.9
	b := w.bodies[i]
	return b != nil && b.score() >= sure && turnsLittle(b.next().turn-last.next().turn) &&
		(w.support(i, b) >= supported || steady(last, b))
}

// similarLength reports whether neither body is twice as long as the other.
func similarLength(a, b *Body) bool { return a.length() > 0.5*b.length() && a.length() < 2*b.length() }

// next is step, with a second look where the result is not sure: at a square about the mover there, and upright if the body
// before was.
func (w *walk) next(ctx context.Context, i, before int) (sure bool, err error) {
	w.bodies[i] = nil
	if sure, err = w.step(ctx, i, before); sure || err != nil {
		return sure, err
	}
	last := w.bodies[before]
	shift, seen := w.moverShift(before, i, last)
	if !seen {
		return true, nil // no mover there: the person has left the picture
	}
	q := last.next()
	q.centre = q.centre.Add(shift)
	second := square{centre: q.centre, side: 1.15 * q.side}
	if !turnsLittle(q.turn) {
		second.turn = q.turn
	}
	if m := w.moverNear(i, q); m != nil {
		second.centre = m.square(1).centre
		second.side = math.Max(m.square(1.35).side, second.side/1.5)
	}
	b, err := w.follow(ctx, i, second)
	if err != nil || b == nil {
		return false, err
	}
	if similarLength(b, last) && turnsLittle(b.next().turn-last.next().turn) && w.support(i, b) > w.support(i, w.bodies[i]) {
		w.bodies[i] = b
	}
	return w.sure(i, last), nil
}

// searchAgain searches picture i as start does, since step and next lose an athlete who turns over fast.
func (w *walk) searchAgain(ctx context.Context, i int) error {
	if w.searchesLeft == 0 {
		return nil
	}
	w.searchesLeft--
	b, err := w.searchIn(ctx, i, allRotations)
	if b != nil && (w.bodies[i] == nil || w.support(i, b) >= w.support(i, w.bodies[i])) {
		w.bodies[i] = b
	}
	return err
}

// turnsLittle reports whether a turn is less than 60 degrees.
func turnsLittle(turn geometry.Angle) bool { return math.Cos(float64(turn)) > 0.5 }

// steady reports whether a body hardly moved relative to its hips from one picture to the next. It is then as right as
// the one before, whatever the foreground shows.
func steady(a, b *Body) bool {
	const most = 0.03 // part of the body's length: right looks at one picture differ by as much
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

// moverNear returns the mover nearest to a square in picture i, nil if there is none within a third of its side.
func (w *walk) moverNear(i int, q square) *mover {
	if !w.still {
		return nil
	}
	return nearestMover(w.pictures[i].movers, q.centre, q.side/3)
}

// nearestMover returns the mover nearest to a place, nil if there is none within that distance, px.
func nearestMover(list []mover, place geometry.Point, within float64) (best *mover) {
	for k := range list {
		if d := list[k].distance(place); d < within && (best == nil || d < best.distance(place)) {
			best = &list[k]
		}
	}
	return best
}

// moverShift returns how far the mover at the body went from one picture to another, px, and
// whether both pictures have a mover there. Where the ground is not known, it returns 0 and true.
func (w *walk) moverShift(from, to int, b *Body) (geometry.Vec, bool) {
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
	// the mover may be a single limb of a body that stands: its centroid then says little
	if ratio := c.share / a.share; ratio < 0.5 || ratio > 2 || shift.Norm() > about.side {
		shift = geometry.Vec{}
	}
	return shift, true
}

// nearest returns the index of the picture nearest to a frame.
func (w *walk) nearest(frame int) (best int) {
	for i, k := range w.pictures {
		if abs(k.frame-frame) < abs(w.pictures[best].frame-frame) {
			best = i
		}
	}
	return best
}

// inKept converts a place in a frame, px, into pixels of the i-th kept picture.
func (w *walk) inKept(i int, p geometry.Point) geometry.Point {
	x, y := w.pictures[i].picture.place(p)
	return geometry.Point{X: x, Y: y}
}

// squareInKept does the same for a square.
func (w *walk) squareInKept(i int, q square) square {
	return square{w.inKept(i, q.centre), q.side / float64(w.pictures[i].picture.by), q.turn}
}

// follow is Finder.follow in the i-th picture, with squares and bodies in px of the clip's frames.
func (w *walk) follow(ctx context.Context, i int, q square) (*Body, error) {
	b, err := w.f.follow(ctx, ownPixels{w.pictures[i].picture}, w.squareInKept(i, q), 2)
	return b.enlarged(w.pictures[i].picture), err
}

// search is Finder.search in the i-th picture, with squares in the kept picture's pixels.
func (w *walk) search(ctx context.Context, i int, rotations []geometry.Angle, squares ...square) (*Body, error) {
	picture := w.pictures[i].picture
	b, err := w.f.search(ctx, ownPixels{picture}, rotations, squares...)
	return b.enlarged(picture), err
}

// enlarged converts a body that was found in a reduced picture into pixels of the original, in place. b may be nil.
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
