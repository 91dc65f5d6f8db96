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

	// FrameBytes is the memory that one frame takes that is kept whole.
	FrameBytes() int

	// Time is the time stamp of frame i as stored, TrueTime the same with slow motion undone.
	Time(i int) time.Duration
	TrueTime(i int) time.Duration

	// Start is the last frame at or before i from which decoding begins without a detour, 0
	// where there is none but the first.
	Start(i int) int

	// Stream calls fn with each frame from number from to number to, in order. A picture is valid
	// until fn returns. Frames that cannot be decoded are left out. It returns the error of fn or of
	// ctx.
	Stream(ctx context.Context, from, to int, fn func(i int, p Picture) error) error

	// Keep returns a picture of Stream that stays valid until drop is called, once, and the memory
	// that it takes. Where of is not nil, parts without such colours may be left out, and are grey.
	Keep(p Picture, of *take.Colours) (kept Picture, bytes int, drop func())
}

// Of makes a Clip of a take.
func Of(t *take.Take) Clip {
	info := t.Info()
	c := &takeClip{t: t, info: info, stretch: 1}
	if info.TrueRate > 0 && info.NominalRate > 0 {
		c.stretch = info.TrueRate / info.NominalRate
	}
	return c
}

type takeClip struct {
	t       *take.Take
	info    take.Info
	stretch float64
}

func (c *takeClip) Frames() int { return c.info.Frames }

// FrameBytes is that of luma and chroma at half the resolution.
func (c *takeClip) FrameBytes() int {
	n := c.info.Width * c.info.Height * 3 / 2
	if c.info.BitDepth > 8 {
		n *= 2
	}
	return n
}

func (c *takeClip) Time(i int) time.Duration { return c.t.Time(i) }

func (c *takeClip) TrueTime(i int) time.Duration {
	return time.Duration(float64(c.t.Time(i)) / c.stretch)
}

func (c *takeClip) Start(i int) int { return c.t.CleanStart(i) }

func (c *takeClip) Stream(ctx context.Context, from, to int, fn func(i int, p Picture) error) error {
	return c.t.Span(ctx, from, to, func(f *take.Frame) error { return fn(f.Index, f) })
}

func (c *takeClip) Keep(p Picture, of *take.Colours) (Picture, int, func()) {
	f := p.(*take.Frame)
	if of != nil {
		f = f.HoldParts(of)
	} else {
		f = f.Hold()
	}
	return f, f.Bytes(), f.Release
}

var _ Picture = (*take.Frame)(nil)

type enough struct{}

func (enough) Error() string { return "enough" }

var errEnough error = enough{}
