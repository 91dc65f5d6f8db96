package page

import (
	"context"

	"ecart/cmd/internal/reading"
)

// Follower follows stickers through a clip.
type Follower interface {
	// Follow starts from the seeds, which are marks on one frame, and goes both
	// ways. It tells how many frames are done. Its errors about what was given
	// have a Hint.
	Follow(ctx context.Context, path string, seeds *reading.Marks, progress func(done, of int)) (*reading.Track, error)
}
