package sticker

import (
	"math"
	"time"

	"ecart/geometry"
)

// State says how a mark is known.
type State int

// A mark that was found in the picture, one that is only expected there, and one that is not
// known at all.
const (
	Lost State = iota
	Predicted
	Seen
)

// String is lost, predicted or seen.
func (s State) String() string { return [...]string{"lost", "predicted", "seen"}[s] }

// Mark is a sticker in one picture.
type Mark struct {
	Seen State

	// At is the sticker's centre, px; at mid-exposure where it is blurred by its motion. Where it
	// is predicted, At is where it is expected; where it is lost, NaN.
	At geometry.Point

	// Cov is the covariance of At, px^2: of what is seen, from the picture and from how the places of
	// this sticker scatter in the clip; of what is predicted, growing; NaN where it is lost.
	Cov [2][2]float64

	// Radius is that of the circle of the same area, px.
	Radius float64
}

func lostMark() Mark {
	nan := math.NaN()
	return Mark{At: geometry.Point{X: nan, Y: nan}, Cov: [2][2]float64{{nan, nan}, {nan, nan}}, Radius: nan}
}

// Seed says which sticker is to be followed: by a place on it in one frame, or by its colour.
type Seed struct {
	Name  string
	At    geometry.Point // px, on the sticker in Frame
	Frame int

	// Colour is that of a sticker that nobody pointed at, as it would look in white light; nil
	// for a seed with a place. No two seeds may have one colour.
	Colour *Colour

	// Optional says that the clip may have no such sticker: where it is refused, it is lost in every frame, and that is no error.
	Optional bool

	// Alone says that the others are followed where this one is refused. Follow tells of it when all is done.
	Alone bool

	// Again says that several athletes with stickers of the same look may come by, one after the other: one that comes in while the sticker is lost counts as
	// the sticker.
	Again bool
}

// Options says how a clip is followed. The zero value will do.
type Options struct {
	// Progress is told now and then how many of the frames have been looked at, and how many
	// stickers the last of them showed.
	Progress func(done, total, found int)
}

// Frame is what one frame of a clip shows.
type Frame struct {
	Index    int           // from 0
	Time     time.Duration // from the first frame, as stored
	TrueTime time.Duration // slow motion undone
	Marks    []Mark        // by seed

	// Damaged says that parts of the picture may be made up, because the file is damaged there or
	// where the picture was predicted from. Its marks are Predicted or Lost, never Seen.
	Damaged bool
}

// Find finds the sticker that somebody pointed at in one picture, and tells its colour. A place
// that is a little off will do. The error is an *Error: there is no sticker.
func Find(p Picture, at geometry.Point) (Mark, Colour, error) {
	var q pointer
	f, err := q.at(p, at)
	if err == nil && !f.solid() {
		err = f.notSolid()
	}
	if err != nil {
		return lostMark(), Colour{}, err
	}
	c := f.colour
	return Mark{Seen: Seen, At: f.at, Cov: f.cov, Radius: f.radius()}, rounded(c), nil
}
