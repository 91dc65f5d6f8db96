package pose

import "ecart/geometry"

// Problem is why nothing can be proposed.
type Problem int

const (
	// NoPerson: the network sees nobody.
	NoPerson Problem = iota
	// TwoPeople: two move, or are there, and it was not said who is meant.
	TwoPeople
	// TooLong: the clip has more moments than are looked at.
	TooLong
	// NoPeak: nowhere in the clip is the angle known.
	NoPeak
	// NobodyMoves: nothing moves before the ground.
	NobodyMoves
	// CameraMoves: the ground does not stand still, so that passes cannot be told from it.
	CameraMoves
	// NoFall: the angle does not fall on both sides of where it is widest, and does so nowhere.
	NoFall
	// Half: the angle is widest where the person comes or goes, or where the clip begins or ends.
	Half
	// Unsure: something is seen, and looks at it do not agree on where its limbs are.
	Unsure
)

// Error is the error of a picture or clip for which nothing can be proposed.
type Error struct {
	Problem Problem
	Frame   int              // of TwoPeople: where both are
	At      []geometry.Point // of TwoPeople: the middle of each, px
}

func (e *Error) Error() string {
	return [...]string{"nobody is seen", "two people are seen", "the clip is too long", "the angle is nowhere known",
		"nobody moves", "the camera moves", "the angle has no peak", "half of a movement is seen", "it is not certain that a person is seen"}[e.Problem]
}
