package cli

import (
	"context"
	"errors"
	"image"
	"io"
	"os"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/output"
	"ecart/cmd/internal/page"
	"ecart/cmd/internal/reading"
	"ecart/vision/sticker"
)

// pageFollower follows stickers for the page.
type pageFollower struct{}

func (pageFollower) Follow(ctx context.Context, t page.Take, seeds *reading.Marks, progress func(done, of, found int)) (*reading.Track, error) {
	of, ok := t.(*pageTake)
	if !ok {
		return nil, errors.New("cli: the page follows takes that were opened here")
	}
	track, err := followTake(ctx, of.Take, seedsOf(seeds), seeds.Facing, progress, nil)
	var known *sticker.Error
	if errors.As(err, &known) && known.Problem == sticker.Cut && len(track.Frames) > 0 {
		return track, err // up to the cut
	}
	if err != nil {
		return nil, err
	}
	return track, nil
}

// pageRecorder draws clips for the page.
type pageRecorder struct{}

func (pageRecorder) Record(ctx context.Context, path string, t page.Take, q reading.Request, track *reading.Track, covered bool, progress func(done, of int)) error {
	of, ok := t.(*pageTake)
	if !ok {
		return errors.New("cli: the page draws takes that were opened here")
	}
	o := coverOptions{faceless: covered}
	covers := func(int) []figure.Cover { return nil }
	if covered {
		at, _, err := o.moving(track, q.Measure.Name)
		if err != nil {
			return &inputError{err.Error(), "put a sticker on the shoulder too and follow it, or leave the head uncovered and give the clip to nobody"}
		}
		covers = at
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return output.CannotWrite(path, err)
	}
	if err := errors.Join(annotate(ctx, f, of.Take.Info().Name, of.Take, q, track, covers, func(done, of, _ int) { progress(done, of) }), f.Close()); err != nil {
		os.Remove(path)
		return err
	}
	return nil
}

// pageFigure draws the picture that the page saves.
func pageFigure(w io.Writer, img image.Image, r *reading.Reading, who string, head []reading.Placement) error {
	o := coverOptions{faceless: len(head) > 0}
	covers, err := o.still(head, r.Measure)
	if err != nil {
		return &inputError{err.Error(), "place a mark on the shoulder too, or leave the head uncovered and give the picture to nobody"}
	}
	drawn, err := figure.Frame(img, r, figure.Options{Who: who, Covers: covers})
	if err != nil {
		return err
	}
	return figure.EncodePNG(w, drawn)
}

// tracked is a sticker as a track has it.
func tracked(m sticker.Mark) reading.Tracked {
	seen := map[sticker.State]reading.Seen{sticker.Seen: reading.Found, sticker.Predicted: reading.Predicted, sticker.Lost: reading.Lost}[m.Seen]
	return reading.Tracked{X: m.At.X, Y: m.At.Y, Covariance: m.Cov, Seen: seen}
}
