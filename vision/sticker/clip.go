package sticker

import (
	"context"
	"time"

	"ecart/vision/take"
)

// Clip is what Follow needs of a clip. Of makes one of a take.
type Clip interface {
	// Frames is the number of frames, 1 for a still.
	Frames() int

	// Time is the time stamp of frame i as stored, TrueTime the same with slow motion undone.
	Time(i int) time.Duration
	TrueTime(i int) time.Duration

	// Stream calls fn with each frame from number from to number to, in order. damaged says that parts
	// of the picture may be made up by the decoder. A picture is valid until fn returns. Frames that
	// cannot be decoded are left out. It returns the error of fn or of ctx.
	Stream(ctx context.Context, from, to int, fn func(i int, p Picture, damaged bool) error) error
}

// Of makes a Clip of a take.
func Of(t *take.Take) Clip { return takeClip{t} }

type takeClip struct{ *take.Take }

func (c takeClip) Frames() int { return c.Info().Frames }

func (c takeClip) Stream(ctx context.Context, from, to int, fn func(i int, p Picture, damaged bool) error) error {
	return c.Span(ctx, from, to, func(f *take.Frame) error { return fn(f.Index, f, f.Damaged) })
}

var _ Picture = (*take.Frame)(nil)
