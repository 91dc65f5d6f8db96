package sticker

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"ecart/geometry"
)

// State tells how a mark is known.
type State int

// The states of a mark.
const (
	Lost      State = iota // its place is not known
	Predicted              // not found in the picture, but expected at a place
	Seen                   // found in the picture
)

// String is lost, predicted or seen.
func (s State) String() string { return [...]string{"lost", "predicted", "seen"}[s] }

// Mark is the place of a sticker in one picture.
type Mark struct {
	Seen State

	// At is the sticker's centre, px; at mid-exposure where it is blurred by motion. It is the
	// predicted place for a predicted mark, NaN for a lost one.
	At geometry.Point

	// Cov is the covariance of At, px^2. For a seen mark it comes from the picture and from the scatter of this
	// sticker's places in the clip; for predicted ones it grows from frame to frame; it is NaN for a lost mark.
	Cov [2][2]float64

	// Radius is the radius of a circle with the sticker's area, px.
	Radius float64
}

func lostMark() Mark {
	nan := math.NaN()
	return Mark{At: geometry.Point{X: nan, Y: nan}, Cov: [2][2]float64{{nan, nan}, {nan, nan}}, Radius: nan}
}

// Seed tells which sticker to follow: by a place on it in one frame, or by its colour.
type Seed struct {
	Name  string
	At    geometry.Point // px, on the sticker in Frame
	Frame int

	// Colour is the colour of the sticker in white light, for a seed without a place; nil
	// for a seed with a place. No two seeds may have the same colour.
	Colour *Colour

	// Optional: the clip may have no such sticker. If the seed is refused, its marks are lost in every frame, without an error.
	Optional bool

	// Alone: if this seed is refused, the others are still followed. Follow returns the error after the last frame.
	Alone bool

	// Again: several athletes with stickers of the same look may come by, one after the other. A sticker that comes into the picture
	// while this one is lost counts as this one.
	Again bool

	// Also are the same sticker in other frames, where it is lost or taken for another thing without them.
	Also []Pointing
}

// In reports whether the sticker was pointed at in a frame.
func (s *Seed) In(frame int) bool {
	return s.Frame == frame || slices.ContainsFunc(s.Also, func(p Pointing) bool { return p.Frame == frame })
}

// Pointing is a place on a sticker in a frame.
type Pointing struct {
	At    geometry.Point // px
	Frame int
}

// Options are the settings of Follow. The zero value is valid.
type Options struct {
	// Progress is called after each frame with the number of frames looked at, that of all frames, and the
	// number of stickers with at least one candidate in the last one. It may be nil.
	Progress func(done, total, found int)
}

// Frame holds the marks of one frame of a clip.
type Frame struct {
	Index    int           // from 0
	Time     time.Duration // from the first frame, as stored
	TrueTime time.Duration // the same with slow motion undone
	Marks    []Mark        // one for each seed, in the order of the seeds

	// Damaged: the decoder may have made up parts of the picture, because the file is damaged in this frame or in
	// one that it is predicted from. Its marks are Predicted or Lost, never Seen.
	Damaged bool
}

// Find finds the sticker that somebody pointed at in one picture, and its colour. The place may be
// a few pixels off. If there is no sticker, the error is an *Error.
func Find(p Picture, at geometry.Point) (Mark, Colour, error) {
	var q pointer
	f, err := q.find(p, at)
	if err != nil {
		return lostMark(), Colour{}, err
	}
	return Mark{Seen: Seen, At: f.at, Cov: f.cov, Radius: f.radius()}, rounded(f.colour), nil
}

// Colour is an sRGB colour, 0 to 255 in each channel.
type Colour struct{ R, G, B uint8 }

// String is the colour as #rrggbb.
func (c Colour) String() string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// ParseColour reads #rrggbb. The error is an *Error of BadSeed.
func ParseColour(s string) (Colour, error) {
	if len(s) == 7 && s[0] == '#' {
		if v, err := strconv.ParseUint(s[1:], 16, 32); err == nil {
			return Colour{uint8(v >> 16), uint8(v >> 8), uint8(v)}, nil
		}
	}
	return Colour{}, &Error{Problem: BadSeed, what: fmt.Sprintf("%q is not a colour", s), hint: "give it as #rrggbb, such as #28dc28"}
}

// code returns the colour in coded values, 0 to 255.
func (c Colour) code() vec { return vec{float64(c.R), float64(c.G), float64(c.B)} }

// rounded returns the nearest Colour.
func rounded(c vec) Colour {
	r := func(v float64) uint8 { return uint8(math.Round(math.Min(math.Max(v, 0), 255))) }
	return Colour{r(c.r), r(c.g), r(c.b)}
}

// Problem is the kind of an Error.
type Problem int

// What can be wrong with seeds and clips.
const (
	BadSeed    Problem = iota // a seed that cannot be used at all
	NoSticker                 // a seed on no sticker
	TwoOnOne                  // two seeds on one sticker
	NeverFound                // a sticker that was lost and not found again, or a colour that was never found
	Cut                       // another shot begins
	Motionless                // nothing moves
	OneFrame                  // a still
)

// Error describes a problem with a seed or a clip, and what to do next.
type Error struct {
	Problem Problem
	Seed    string // name of the seed, "" where the problem concerns none
	Frame   int    // the frame that the problem concerns

	what, hint string
}

// Error says what is wrong, in one line.
func (e *Error) Error() string { return e.what }

// Hint says what to do next.
func (e *Error) Hint() string { return e.hint }
