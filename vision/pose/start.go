package pose

import (
	"cmp"
	"context"
	"math"
	"slices"

	"ecart/geometry"
)

// mostFirstLooks is about the largest number of looks of the first search in a clip: some 5 s on two processors. It is enough
// for every square that start tries, whether something moves or nothing does; where the camera moves, for all but the small
// tiles upside down.
const mostFirstLooks = 44

// start finds the person in some picture, and returns its index.
func (w *walk) start(ctx context.Context) (int, error) {
	if a := w.o.Athlete; a != nil {
		i := w.nearest(w.o.AthleteFrame)
		b, err := w.search(ctx, i, allRotations, squaresAbout(ownPixels{w.pictures[i].picture}, w.inKept(i, *a))...)
		if err == nil && b == nil {
			err = w.f.nobody()
		}
		w.bodies[i] = b
		w.checkGroundAt(i)
		return i, err
	}
	if err := w.askWhoIsMeant(ctx); err != nil {
		return 0, err
	}
	w.f.limit = w.f.looks + mostFirstLooks
	defer func() { w.f.limit = 0 }()
	order := w.searchOrder()
	first := min(2, len(order)) // most people are upright somewhere
	same := w.nothingMoves()    // then all pictures show the same
	if same {
		first = 1
	}
	type round struct {
		pictures  []int
		rotations []geometry.Angle
	}
	rounds := []round{{order[:first], upright}, {order[:first], upsideDown}, {order[:1], sideways}, {order[first:], upright}}
	if w.still {
		rounds = append(rounds, round{order[first:], upsideDown})
	}
	for _, round := range rounds {
		for _, i := range round.pictures {
			if same && i != order[0] && !w.f.unsure {
				break
			}
			b, err := w.searchIn(ctx, i, round.rotations)
			if err != nil {
				return i, err
			}
			if b == nil {
				continue
			}
			w.bodies[i] = b
			if w.support(i, b) >= supported {
				return i, nil
			}
			if k := w.foundInSamePlace(i); k >= 0 { // found twice in one place: a person, though not what moves
				if w.support(k, w.bodies[k]) > w.support(i, b) {
					i = k
				}
				w.checkGroundAt(i)
				return i, nil
			}
		}
	}
	for _, i := range order {
		if w.bodies[i] != nil {
			w.checkGroundAt(i)
			return i, nil
		}
	}
	// a person who does not move, in squares that were not searched yet: upright first, the small tiles last
	i := order[0]
	view := ownPixels{w.pictures[i].picture}
	large, small := largeSquares(view), tiles(view, smallTiles)
	for _, round := range []struct {
		squares   []square
		rotations []geometry.Angle
		searched  bool // already, in a picture without movers
	}{{large, upright, true}, {small, upright, false}, {large, upsideDown, true}, {small, upsideDown, false}} {
		if round.searched && w.mover(i) == nil {
			continue
		}
		b, err := w.search(ctx, i, round.rotations, round.squares...)
		if err != nil {
			return i, err
		}
		if b != nil {
			w.bodies[i] = b
			w.checkGroundAt(i)
			return i, nil
		}
	}
	return i, w.f.nobody()
}

// searchIn searches the i-th picture: about its largest mover, or in the large squares where there is none.
func (w *walk) searchIn(ctx context.Context, i int, rotations []geometry.Angle) (*Body, error) {
	m := w.mover(i)
	if m == nil {
		return w.search(ctx, i, rotations, largeSquares(ownPixels{w.pictures[i].picture})...)
	}
	var squares []square
	// the mover may be one limb of a body that stands: the larger square holds the rest
	for _, grow := range []float64{1.35, 2.7} {
		squares = append(squares, w.squareInKept(i, m.square(grow)))
	}
	return w.search(ctx, i, rotations, squares...)
}

// mover returns the largest mover of the i-th picture, nil where there is none or the ground is not known.
func (w *walk) mover(i int) *mover {
	if m := w.pictures[i].movers; w.still && len(m) > 0 && !m[0].fills(w.pictures[i].picture) {
		return &m[0]
	}
	return nil
}

// nothingMoves reports that the ground stands still and nothing before it moves.
func (w *walk) nothingMoves() bool {
	return w.still && !slices.ContainsFunc(w.pictures, func(k kept) bool { return len(k.movers) > 0 })
}

// foundInSamePlace returns the index of another picture in which a body was found in the same place as in the i-th, -1 if
// there is none.
func (w *walk) foundInSamePlace(i int) int {
	for k, b := range w.bodies {
		if k != i && b != nil && b.middle(hip).Sub(w.bodies[i].middle(hip)).Norm() < b.trunk()/2 {
			return k
		}
	}
	return -1
}

// checkGroundAt marks the ground as unknown if the body in the i-th picture, on which the looks agree, does not lie on
// the foreground: a person who hardly moves, as in a handstand, is a part of the median picture.
func (w *walk) checkGroundAt(i int) {
	if w.bodies[i] != nil && w.support(i, w.bodies[i]) < supported {
		w.still, w.found.Still = false, false
	}
}

// searchOrder returns the indices of the pictures for the first search: first the one with the largest mover, which counts
// a quarter where it touches the border, then four others. Where the ground moves, they are spread over the clip.
func (w *walk) searchOrder() []int {
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
	slices.SortStableFunc(all, func(a, b int) int { return cmp.Compare(weight(b), weight(a)) }) // the largest first
	return dedupe([]int{all[0], all[n/8], all[n/4], all[n/2], n / 2})
}

// dedupe keeps the first index, and sorts the others, each once.
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

// askWhoIsMeant returns an error of TwoPeople if two people move and each is large enough to be the one meant.
func (w *walk) askWhoIsMeant(ctx context.Context) error {
	const (
		comparableShare = 0.35 // of the larger one's area
		often           = 0.25 // of the pictures
	)
	if !w.still {
		return nil
	}
	count, best := 0, -1
	for i, k := range w.pictures {
		if len(k.movers) > 1 && k.movers[1].share > comparableShare*k.movers[0].share {
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
	trunk := 0.0
	for _, m := range w.pictures[best].movers[:2] {
		b, err := w.search(ctx, best, allRotations, w.squareInKept(best, m.square(1.35)))
		if err != nil {
			return err
		}
		if b == nil || m.distance(b.middle(hip)) > 0.2*b.length() {
			return nil
		}
		e.At = append(e.At, b.middle(hip))
		trunk = math.Max(trunk, b.trunk())
	}
	if e.At[1].Sub(e.At[0]).Norm() < trunk { // one body, found twice
		return nil
	}
	return e
}
