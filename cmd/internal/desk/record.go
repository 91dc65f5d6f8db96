package desk

import (
	"context"
	"errors"
	"image"
	"os"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/reading"
	"ecart/vision/record"
	"ecart/vision/take"
)

// Annotate writes the clip, with the fan and the covers in every frame, into an empty file;
// name names it in errors. q says what is measured; level and corners are those of its marks.
// progress may be nil.
func Annotate(ctx context.Context, out *os.File, name string, t *take.Take, q reading.Request, track *reading.Track, covers func(frame int) []figure.Cover, progress func(done, of, found int)) error {
	first, last := track.Frames[0].Frame, track.Frames[len(track.Frames)-1].Frame
	stand := q.Marks
	return DrawClip(ctx, out, name, t, first, last, func(f *take.Frame) (image.Image, error) {
		var r *reading.Reading
		why := "not followed"
		if i, ok := track.At(f.Index); ok {
			if m, ok := track.MarksAt(i); ok {
				one := q
				m.Level, m.Plane = stand.Level, stand.Plane
				one.Marks = m
				one.Take.Frame = f.Index
				var err error
				if r, err = reading.Sketch(one); err != nil {
					r, why = nil, "the angle cannot be read here" // a mark is outside the picture, for instance
				}
			} else if why = "a sticker is not seen"; track.Frames[i].Damaged {
				why = "the file is damaged here"
			}
		}
		if progress != nil {
			progress(f.Index-first+1, last-first+1, len(track.Landmarks))
		}
		return figure.Overlay(large.Of(f), r, why, covers(f.Index)...)
	})
}

// DrawClip writes a clip of the pictures that draw makes of the frames first to last into an
// empty file; name names it in errors.
func DrawClip(ctx context.Context, out *os.File, name string, t *take.Take, first, last int, draw func(*take.Frame) (image.Image, error)) error {
	info := t.Info()
	rate := info.NominalRate
	if !(rate > 0) {
		rate = 30
	}
	rec, err := record.New(ctx, out, name, info.Width, info.Height, rate)
	if err != nil {
		return err
	}
	end := errors.New("all that was followed is drawn")
	err = t.Stream(ctx, first, func(f *take.Frame) error {
		if f.Index > last {
			return end
		}
		img, err := draw(f)
		if err != nil {
			return err
		}
		return rec.Add(img)
	})
	if err != nil && !errors.Is(err, end) {
		rec.Discard()
		return err
	}
	return rec.Finish()
}
