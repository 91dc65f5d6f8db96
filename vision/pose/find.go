package pose

import (
	"context"
	"math"
	"slices"

	"ecart/geometry"
	"ecart/vision/pose/model"
	"ecart/vision/see"
)

// Finder runs the network. It may be used by one goroutine at a time.
type Finder struct {
	child   looker
	network *see.Network
	// pointedAt reports that a person said where the athlete is, and unsure that something was seen on which the looks
	// do not agree.
	pointedAt, unsure bool
	looks             int
	looked            func() // hears of each look; may be nil
	limit             int    // of looks, above which nothing more is searched; 0 for none
}

// looker runs a network: a [see.Child].
type looker interface {
	Look(context.Context, *see.Network, *see.Picture) (*see.Seen, error)
	Close()
}

// Looks is how often the network was run.
func (f *Finder) Looks() int { return f.looks }

// NewFinder runs the network of that graph (package model). Close ends its program.
func NewFinder(graph []byte) *Finder {
	return &Finder{child: &see.Child{}, network: &see.Network{Outputs: model.Outputs(), Graph: graph}}
}

// Close ends the program that runs the network.
func (f *Finder) Close() { f.child.Close() }

// Levels of Body.Person and Body.score. The network's own flag is near 0 or near 1 on
// nearly all squares, so that the figures matter little: see the study's table of them.
const (
	person   = 0.5
	believed = 0.3
	offer    = 0.15 // of the side: a body farther from the square's centre is looked at again
)

// look runs the network once.
func (f *Finder) look(ctx context.Context, p Picture, q square) (*Body, error) {
	return f.lookAt(ctx, q, q.cut(p))
}

// lookAt runs it on what was cut of a picture.
func (f *Finder) lookAt(ctx context.Context, q square, rgb []byte) (*Body, error) {
	f.looks++
	seen, err := f.child.Look(ctx, f.network, &see.Picture{Width: inner, Height: inner, RGB: rgb})
	if err != nil {
		return nil, err
	}
	if f.looked != nil {
		f.looked()
	}
	return bodyOf(seen, q)
}

// follow looks at a square, and again at where the body stands in it while that is off
// the square's middle, at most times times in all. It returns nil if nobody is there.
func (f *Finder) follow(ctx context.Context, p Picture, q square, times int) (*Body, error) {
	var best *Body
	for range times {
		b, err := f.look(ctx, p, q)
		if err != nil {
			return nil, err
		}
		next := b.next()
		if b.Person < person || !fits(next, p) {
			break
		}
		if best == nil || b.score() > best.score()/2 { // the later one is the better centred
			best = b
		}
		off := next.centre.Sub(q.centre).Norm() / q.side
		if off < offer && math.Abs(math.Log(next.side/q.side)) < 0.35 && math.Cos(float64(next.turn-q.turn)) > 0.9 {
			break
		}
		q = next
	}
	if best == nil || best.score() < believed {
		return nil, nil
	}
	return best, nil
}

// nobody is the error where no person was found.
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
	long := float64(max(b.Dx(), b.Dy()))
	inside := q.centre.X > -0.1*long && q.centre.Y > -0.1*long && q.centre.X < float64(b.Dx())+0.1*long && q.centre.Y < float64(b.Dy())+0.1*long
	return inside && q.side > 24 && q.side < 4*long
}

// Rotations in which a body is looked for, clockwise.
var (
	upright = []geometry.Angle{0}
	// Whoever turns over lies across the picture only in passing, and few athletes who keep still and are small in the
	// picture do: they are pointed at.
	upsideDown = []geometry.Angle{math.Pi}
	sideways   = []geometry.Angle{math.Pi / 2, 3 * math.Pi / 2}
	turned     = append(slices.Clone(upsideDown), sideways...)
	anyWay     = append(slices.Clone(upright), turned...)
)

// search looks at each square in each rotation, and returns the first body that further looks agree on (confirm). It
// returns nil if there is none; f.unsure is then set where something was seen. Where a person said that the athlete is
// there, it returns the body on which the looks agree best.
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
			if b.Person < possible || !fits(b.next(), p) {
				continue
			}
			b, apart, err := f.confirm(ctx, p, b)
			if err != nil || apart <= agreed {
				return b, err
			}
			if apart < least {
				best, least = b, apart
			}
		}
	}
	if f.pointedAt {
		return best, nil
	}
	return nil, nil
}

// wholePicture is a square about all of it.
func wholePicture(p Picture) square {
	b := p.Bounds()
	return square{centre: geometry.Point{X: float64(b.Dx()-1) / 2, Y: float64(b.Dy()-1) / 2}, side: float64(max(b.Dx(), b.Dy()))}
}

// parts are squares of a share of the picture's shorter side that cover it, for people who are smaller than it.
func parts(p Picture, share float64) (out []square) {
	b := p.Bounds()
	side := float64(min(b.Dx(), b.Dy())) * share
	nx, ny := count(b.Dx(), side), count(b.Dy(), side)
	for j := range ny {
		for i := range nx {
			out = append(out, square{centre: geometry.Point{X: spread(i, nx, b.Dx(), side), Y: spread(j, ny, b.Dy(), side)}, side: side})
		}
	}
	return out
}

// largeSquares are one about all of the picture, and those as wide as its shorter side. A body is found in a square of 1.2
// to 3 times its length.
func largeSquares(p Picture) []square { return append([]square{wholePicture(p)}, parts(p, 1)...) }

// anywhere looks for a person in all of the picture: in the large squares, then in smaller ones.
func (f *Finder) anywhere(ctx context.Context, p Picture, rotations []geometry.Angle) (*Body, error) {
	return f.search(ctx, p, rotations, append(largeSquares(p), parts(p, smallParts)...)...)
}

// smallParts is the share of the shorter side of the smallest squares in which people are looked for.
const smallParts = 0.6

// count is how many squares cover a length with at least a third of overlap.
func count(length int, side float64) int {
	return max(1, int(math.Ceil((float64(length)-side)/(side*0.67)))+1)
}

func spread(i, n, length int, side float64) float64 {
	if n == 1 {
		return float64(length-1) / 2
	}
	return side/2 + float64(i)*(float64(length)-side)/float64(n-1)
}

// at returns squares about a place, of the sizes that a person in the picture may have.
func at(p Picture, place geometry.Point) (out []square) {
	short := float64(min(p.Bounds().Dx(), p.Bounds().Dy()))
	for _, share := range []float64{0.35, 0.6, 1} {
		out = append(out, square{centre: place, side: share * short})
	}
	return out
}
