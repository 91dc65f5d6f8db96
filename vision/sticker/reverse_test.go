package sticker

import (
	"context"
	"fmt"
	"image"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/vision/take"
)

// reel is a clip of empty pictures with a key every so many frames. It counts what a decoder
// would have to do.
type reel struct {
	frames, every, bytes int
	part                 int          // bytes of what is kept of a picture by its colours
	decoded              int          // pictures, those among them that only lead up to others
	kept, most           atomic.Int64 // pictures kept at a time
}

func (r *reel) Frames() int                  { return r.frames }
func (r *reel) FrameBytes() int              { return r.bytes }
func (r *reel) Time(i int) time.Duration     { return time.Duration(i) * time.Second / 60 }
func (r *reel) TrueTime(i int) time.Duration { return r.Time(i) }
func (r *reel) Start(i int) int              { return i / r.every * r.every }
func (r *reel) Keep(p Picture, of *take.Colours) (Picture, int, func()) {
	if n := r.kept.Add(1); n > r.most.Load() {
		r.most.Store(n)
	}
	bytes := r.bytes
	if of != nil {
		bytes = r.part
	}
	return p, bytes, func() { r.kept.Add(-1) }
}
func (r *reel) Stream(ctx context.Context, from, to int, fn func(i int, p Picture) error) error {
	r.decoded += from - r.Start(from)
	for i := from; i <= to; i++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		r.decoded++
		if err := fn(i, Still(&image.RGBA{})); err != nil {
			return err
		}
	}
	return nil
}

// Going backwards costs the decoder each frame once where what is kept of the pictures between two
// keys fits into the memory set aside, however long the clip is; where it does not, a number of times
// that depends on the keys alone. The memory is the same throughout.
func TestBackwardsCostsTheSameForAnyLength(t *testing.T) {
	const fullHD = 1920 * 1080 * 3 / 2
	const room = keptBytes / fullHD // pictures
	for _, c := range []struct {
		every, share int     // pictures are kept whole, or one part in so many of them
		most         float64 // decoded pictures a frame
	}{
		{1, 1, 1}, {30, 1, 1}, {room, 1, 1}, {4 * room, 8, 1},
		// n stretches of room pictures each, the last of which needs all those before it
		// decoded: (1 + 2 + ... + n) room pictures for n room frames, (n+1)/2 each
		{4 * room, 1, 2.5},
	} {
		for _, frames := range []int{600, 6000} {
			t.Run(fmt.Sprint(c.every, c.share, " ", frames), func(t *testing.T) {
				r := &reel{frames: frames / c.every * c.every, every: c.every, bytes: fullHD, part: fullHD / c.share}
				next := r.frames - 1
				k := &keeper{clip: r, of: &take.Colours{}}
				require.NoError(t, reverse(context.Background(), k, next, nil, func(n *numbered) error {
					require.Equal(t, next, n.i)
					next--
					return nil
				}))
				assert.Equal(t, -1, next)
				assert.Zero(t, r.kept.Load(), "all are dropped")
				assert.LessOrEqual(t, float64(r.decoded)/float64(r.frames), c.most)
				assert.LessOrEqual(t, r.most.Load(), int64(room*c.share+2), "one may be on its way to either side")
			})
		}
	}
}
