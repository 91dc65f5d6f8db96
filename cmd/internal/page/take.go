package page

import (
	"context"
	"errors"
	"image"
	"time"

	"ecart/cmd/internal/desk"
	"ecart/vision/take"
)

// Take is one open still or clip, used from several goroutines.
type Take interface {
	Info() take.Info
	// Held is about how many bytes the take holds while it is open.
	Held() int64
	// Time is the time stamp of frame i from the first one.
	Time(i int) time.Duration
	Frame(ctx context.Context, i int) (Frame, error)
	// Stream decodes onward from a frame; a frame is valid until fn returns.
	Stream(ctx context.Context, from int, fn func(Frame) error) error
	Close() error
}

// Frame is one picture of a take.
type Frame interface {
	Number() int
	// Broken says that the file is damaged before this frame: parts of the
	// picture may be made up.
	Broken() bool
	Bounds() image.Rectangle
	// Region is the part of the upright picture within r.
	Region(r image.Rectangle) *image.RGBA
}

// file is the take of a file.
type file struct{ *take.Take }

// openFile opens the file at path. Its errors about the file have a hint.
func openFile(d *desk.Desk) func(ctx context.Context, path string) (Take, error) {
	return func(ctx context.Context, path string) (Take, error) {
		t, err := d.Open(ctx, path)
		if err != nil {
			return nil, err
		}
		return file{t}, nil
	}
}

// Held: a still is held decoded. The decoder of a clip holds pictures of 1.5 samples a pixel:
// up to 16 that others are made from (H.264 table A-1, HEVC A.4.2), and one for each of four
// threads, but no more than it may; a sample has two bytes where it has more than eight bits.
func (f file) Held() int64 {
	i := f.Take.Info()
	if i.Still {
		return f.StillBytes()
	}
	pixels := int64(i.Width) * int64(i.Height)
	if i.BitDepth > 8 {
		pixels *= 2
	}
	return min((16+4)*pixels*3/2, take.MostClipMemory)
}

func (f file) Frame(ctx context.Context, i int) (Frame, error) {
	p, err := f.Take.Frame(ctx, i)
	if err != nil {
		return nil, err
	}
	return picture{p}, nil
}

func (f file) Stream(ctx context.Context, from int, fn func(Frame) error) error {
	return f.Take.Stream(ctx, from, func(p *take.Frame) error { return fn(picture{p}) })
}

// clipOf is the clip of a file, for what goes through all of its frames.
func clipOf(t Take) (*take.Take, error) {
	f, ok := t.(file)
	if !ok {
		return nil, errors.New("page: the take is of no file")
	}
	return f.Take, nil
}

type picture struct{ f *take.Frame }

func (p picture) Number() int                          { return p.f.Index }
func (p picture) Broken() bool                         { return p.f.Damaged }
func (p picture) Bounds() image.Rectangle              { return p.f.Bounds() }
func (p picture) Region(r image.Rectangle) *image.RGBA { return p.f.Region(r) }
func (p picture) Halved(times int) *image.RGBA         { return p.f.Halved(times) }
