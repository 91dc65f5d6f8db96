package cli

import (
	"context"
	"image"
	"time"

	"ecart/cmd/internal/page"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/rulebook"
	"ecart/vision/take"
)

// pageTake is a take as the page knows it.
type pageTake struct {
	*take.Take
	info page.Info
}

func openForPage(ctx context.Context, path string) (page.Take, error) {
	t, err := take.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	i := t.Info()
	return &pageTake{t, page.Info{Still: i.Still, Width: i.Width, Height: i.Height, Frames: i.Frames, Duration: i.Duration,
		Rate: i.TrueRate, Codec: i.Codec, FocalLength35: i.FocalLength35, Day: dayOf(i), Warnings: i.Warnings,
		Readout: readout(i.Orientation), Held: heldOpen(t, i)}}, nil
}

// heldOpen is about how many bytes an open take holds. A still is held decoded. The decoder of a
// clip holds pictures of 1.5 samples a pixel: up to 16 that others are made from (H.264 table A-1,
// HEVC A.4.2), and one for each of four threads, but no more than it may; a sample has two bytes
// where it has more than eight bits.
func heldOpen(t *take.Take, i take.Info) int64 {
	if i.Still {
		return t.StillBytes()
	}
	pixels := int64(i.Width) * int64(i.Height)
	if i.BitDepth > 8 {
		pixels *= 2
	}
	return min((16+4)*pixels*3/2, take.MostClipMemory)
}

func (t *pageTake) Info() page.Info          { return t.info }
func (t *pageTake) Time(i int) time.Duration { return t.Take.Time(i) }

func (t *pageTake) Frame(ctx context.Context, i int) (page.Frame, error) {
	f, err := t.Take.Frame(ctx, i)
	if err != nil {
		return nil, err
	}
	return pageFrame{f}, nil
}

func (t *pageTake) Stream(ctx context.Context, from int, fn func(page.Frame) error) error {
	return t.Take.Stream(ctx, from, func(f *take.Frame) error { return fn(pageFrame{f}) })
}

type pageFrame struct{ f *take.Frame }

func (f pageFrame) Number() int                          { return f.f.Index }
func (f pageFrame) Broken() bool                         { return f.f.Damaged }
func (f pageFrame) Bounds() image.Rectangle              { return f.f.Bounds() }
func (f pageFrame) Region(r image.Rectangle) *image.RGBA { return f.f.Region(r) }

// pageSkills are the rule books' skills that an angle is compared with.
type pageSkills struct{ lib *rulebook.Library }

func (p pageSkills) List() []page.Skill {
	var out []page.Skill
	for _, b := range p.lib.Books() {
		for _, k := range b.Skills {
			if k.NotMeasured == "" {
				out = append(out, page.Skill{Ref: k.Ref(), Title: k.Title, Book: b.Title, Measure: k.Measure, Asked: k.AskedDeg})
			}
		}
	}
	return out
}

func (p pageSkills) Find(ref string) (reading.Skill, error) { return p.lib.Find(ref) }
