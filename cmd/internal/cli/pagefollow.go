package cli

import (
	"context"
	"errors"

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
	track, err := followTake(ctx, of.Take, seedsOf(seeds), seeds.Facing, progress)
	var known *sticker.Error
	if errors.As(err, &known) && known.Problem == sticker.Cut && len(track.Frames) > 0 {
		return track, err // up to the cut
	}
	if err != nil {
		return nil, err
	}
	return track, nil
}

// tracked is a sticker as a track has it.
func tracked(m sticker.Mark) reading.Tracked {
	seen := map[sticker.State]reading.Seen{sticker.Seen: reading.Found, sticker.Predicted: reading.Predicted, sticker.Lost: reading.Lost}[m.Seen]
	return reading.Tracked{X: m.At.X, Y: m.At.Y, Covariance: m.Cov, Seen: seen}
}
