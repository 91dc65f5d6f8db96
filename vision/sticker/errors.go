package sticker

// Problem is the kind of an Error.
type Problem int

// What can be wrong with seeds and clips.
const (
	BadSeed    Problem = iota // a seed that cannot be used at all
	NoSticker                 // a seed on no sticker
	TwoOnOne                  // two seeds on one sticker
	NeverFound                // a sticker lost and not found again, or a colour never found
	Cut                       // another shot begins
	Motionless                // nothing moves
	OneFrame                  // a still
)

// Error is what is wrong with a seed or a clip, and what to do next.
type Error struct {
	Problem Problem
	Seed    string // name of the seed, "" where it is about none
	Frame   int    // the frame it is about

	what, hint string
}

// Error says what is wrong, in one line.
func (e *Error) Error() string { return e.what }

// Hint says what to do next.
func (e *Error) Hint() string { return e.hint }
