package pose

import (
	"context"
	"math"
	"slices"

	"ecart/geometry"
	"ecart/vision/pose/model"
	"ecart/vision/see"
)

// Finder finds people with the network. Only one goroutine may use it at a time.
type Finder struct {
	child     networkRunner
	network   *see.Network
	pointedAt bool   // the user gave a place on the athlete
	unsure    bool   // the network reported somebody, but looks at it did not agree
	looks     int    // runs of the network
	onLook    func() // called after each look; may be nil
	limit     int    // value of looks at which a search stops; 0: no limit
}

// networkRunner runs a network. [see.Child] is one.
type networkRunner interface {
	Look(context.Context, *see.Network, *see.Picture) (*see.Seen, error)
	Close()
}

// Looks is the number of times that the network was run.
func (f *Finder) Looks() int { return f.looks }

// NewFinder returns a Finder for the network of a graph (package model). Close ends the child program that runs it.
func NewFinder(graph []byte) *Finder {
	return &Finder{child: &see.Child{}, network: &see.Network{Outputs: model.Outputs(), Graph: graph}}
}

// Close ends the program that runs the network.
func (f *Finder) Close() { f.child.Close() }

// Thresholds of a look. Body.Person is near 0 or near 1 on nearly all squares, so that
// results depend little on the exact values.
const (
	leastPerson   = 0.5
	leastScore    = 0.3
	mostOffCentre = 0.15 // part of the square's side: a body farther from the centre is looked at again
)

// look runs the network once, on a square of a picture.
func (f *Finder) look(ctx context.Context, p Picture, q square) (*Body, error) {
	return f.lookAt(ctx, q, q.cut(p))
}

// lookAt runs the network on rgb, the pixels of square q (see square.cut).
func (f *Finder) lookAt(ctx context.Context, q square, rgb []byte) (*Body, error) {
	f.looks++
	seen, err := f.child.Look(ctx, f.network, &see.Picture{Width: inner, Height: inner, RGB: rgb})
	if err != nil {
		return nil, err
	}
	if f.onLook != nil {
		f.onLook()
	}
	return bodyOf(seen, q)
}

// follow looks at a square. While the body found is off the square's middle, it looks again at a square
// centred on the body, at most times looks in all. It returns nil if nobody is there.
func (f *Finder) follow(ctx context.Context, p Picture, q square, times int) (*Body, error) {
	var best *Body
	for range times {
		b, err := f.look(ctx, p, q)
		if err != nil {
			return nil, err
		}
		next := b.next()
		if b.Person < leastPerson || !fits(next, p) {
			break
		}
		if best == nil || b.score() > best.score()/2 { // the later one is the better centred
			best = b
		}
		off := next.centre.Sub(q.centre).Norm() / q.side
		if off < mostOffCentre && math.Abs(math.Log(next.side/q.side)) < 0.35 && math.Cos(float64(next.turn-q.turn)) > 0.9 {
			break
		}
		q = next
	}
	if best == nil || best.score() < leastScore {
		return nil, nil
	}
	return best, nil
}

// nobody returns the error for a search that found no person.
func (f *Finder) nobody() error {
	if f.unsure {
		return &Error{Problem: Unsure}
	}
	return &Error{Problem: NoPerson}
}

// fits reports whether a square can hold a person in the picture: it is not tiny, not many
// times the picture, and its centre is in it.
func fits(q square, p Picture) bool {
	b := p.Bounds()
	longer := float64(max(b.Dx(), b.Dy()))
	inside := q.centre.X > -0.1*longer && q.centre.Y > -0.1*longer && q.centre.X < float64(b.Dx())+0.1*longer && q.centre.Y < float64(b.Dy())+0.1*longer
	return inside && q.side > 24 && q.side < 4*longer
}

// Rotations in which a body is looked for: clockwise, radians.
var (
	upright = []geometry.Angle{0}
	// A first search in a clip tries sideways in one picture only. An athlete who turns over lies across the picture only
	// for a moment. Few others do, and the user can point at them.
	upsideDown   = []geometry.Angle{math.Pi}
	sideways     = []geometry.Angle{math.Pi / 2, 3 * math.Pi / 2}
	notUpright   = append(slices.Clone(upsideDown), sideways...)
	allRotations = append(slices.Clone(upright), notUpright...)
)

// search looks at each square in each rotation, and returns the first body that further looks agree on (confirm), nil if
// there is none. f.unsure is set where the network reported a person. Where the user pointed at the athlete (f.pointedAt)
// and no looks agree, it returns the body on which they agree best.
func (f *Finder) search(ctx context.Context, p Picture, rotations []geometry.Angle, squares ...square) (*Body, error) {
	var best *Body
	least := math.Inf(1)
	for _, turn := range rotations {
		for _, q := range squares {
			if f.limit > 0 && f.looks >= f.limit {
				break
			}
			q.turn = turn
			b, err := f.look(ctx, p, q)
			if err != nil {
				return nil, err
			}
			if b.Person < leastToConfirm || !fits(b.next(), p) {
				continue
			}
			b, differ, err := f.confirm(ctx, p, b)
			if err != nil || differ <= mostDisagreement {
				return b, err
			}
			if differ < least {
				best, least = b, differ
			}
		}
	}
	if f.pointedAt {
		return best, nil
	}
	return nil, nil
}

// wholePicture returns a square about the whole picture.
func wholePicture(p Picture) square {
	b := p.Bounds()
	return square{centre: geometry.Point{X: float64(b.Dx()-1) / 2, Y: float64(b.Dy()-1) / 2}, side: float64(max(b.Dx(), b.Dy()))}
}

// tiles returns overlapping squares that cover the picture. Their side is that share of the picture's shorter side.
func tiles(p Picture, share float64) (out []square) {
	b := p.Bounds()
	side := float64(min(b.Dx(), b.Dy())) * share
	nx, ny := tilesAlong(b.Dx(), side), tilesAlong(b.Dy(), side)
	for j := range ny {
		for i := range nx {
			out = append(out, square{centre: geometry.Point{X: tileCentre(i, nx, b.Dx(), side), Y: tileCentre(j, ny, b.Dy(), side)}, side: side})
		}
	}
	return out
}

// largeSquares returns a square about the whole picture, and tiles as wide as its shorter side. The network finds a body in a
// square of 1.2 to 3 times the body's length.
func largeSquares(p Picture) []square { return append([]square{wholePicture(p)}, tiles(p, 1)...) }

// anywhere searches the whole picture for a person: the large squares, then small tiles.
func (f *Finder) anywhere(ctx context.Context, p Picture, rotations []geometry.Angle) (*Body, error) {
	return f.search(ctx, p, rotations, append(largeSquares(p), tiles(p, smallTiles)...)...)
}

// smallTiles is the side of the smallest tiles that are searched, as a part of the picture's shorter side.
const smallTiles = 0.6

// tilesAlong returns how many squares of a side, px, cover a length, px, with an overlap of at least a third.
func tilesAlong(length int, side float64) int {
	return max(1, int(math.Ceil((float64(length)-side)/(side*0.67)))+1)
}

// tileCentre returns the coordinate of the centre of the i-th of n squares along a length, px.
func tileCentre(i, n, length int, side float64) float64 {
	if n == 1 {
		return float64(length-1) / 2
	}
	return side/2 + float64(i)*(float64(length)-side)/float64(n-1)
}

// squaresAbout returns squares about a place, of the sizes that a person in the picture may have.
func squaresAbout(p Picture, place geometry.Point) (out []square) {
	short := float64(min(p.Bounds().Dx(), p.Bounds().Dy()))
	for _, share := range []float64{0.35, 0.6, 1} {
		out = append(out, square{centre: place, side: share * short})
	}
	return out
}

// Still looks for a person in one picture: in all of it, or about Options.Athlete. It returns an
// *Error where nobody is found, or where two people are and Options.Athlete is nil.
func (f *Finder) Still(ctx context.Context, p Picture, o Options) (*Body, error) {
	f.pointedAt, f.unsure = o.Athlete != nil, false
	by := max(1, int(math.Ceil(float64(max(p.Bounds().Dx(), p.Bounds().Dy()))/keptSide)))
	small := shrink(p, p.Bounds(), by)
	view := ownPixels{small}
	var first *Body
	var err error
	if a := o.Athlete; a != nil {
		x, y := small.place(*a)
		first, err = f.search(ctx, view, allRotations, squaresAbout(view, geometry.Point{X: x, Y: y})...)
	} else {
		for _, rotations := range [][]geometry.Angle{upright, notUpright} {
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

// another returns an error of TwoPeople if the picture holds a second person of at least half the first one's length.
func (f *Finder) another(ctx context.Context, small *reduced, first *Body) error {
	const (
		sure  = 0.8
		large = 0.5 // of the first one's length
	)
	view := ownPixels{small}
	about := first.next()
	for _, q := range tiles(view, smallTiles) {
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
		b, differ, err := f.confirm(ctx, view, b)
		if err != nil {
			return err
		}
		if differ > mostDisagreement {
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

// Problem is why nothing can be proposed.
type Problem int

const (
	// NoPerson: the network finds nobody.
	NoPerson Problem = iota
	// TwoPeople: two people are there (in a clip: move), and Options.Athlete is nil.
	TwoPeople
	// TooLong: the clip has more moments than the limit (mostMoments, mostPassMoments).
	TooLong
	// NoPeak: the angle is known nowhere in the clip.
	NoPeak
	// NobodyMoves: nothing moves before the ground.
	NobodyMoves
	// CameraMoves: the ground does not stand still, so that passes cannot be told from it.
	CameraMoves
	// NoFall: the angle has no peak from which it falls on both sides.
	NoFall
	// Half: the angle is widest at an end of the pass, so that only a part of the movement is seen.
	Half
	// Unsure: the network reports a person, but repeated looks do not agree on where the limbs are.
	Unsure
)

// Error is the error of a picture or clip for which nothing can be proposed.
type Error struct {
	Problem Problem
	Frame   int              // of TwoPeople: a frame that shows both
	At      []geometry.Point // of TwoPeople: the middle of each person's hips, px
}

func (e *Error) Error() string {
	return [...]string{"nobody is seen", "two people are seen", "the clip is too long", "the angle is nowhere known",
		"nobody moves", "the camera moves", "the angle has no peak", "half of a movement is seen", "it is not certain that a person is seen"}[e.Problem]
}
