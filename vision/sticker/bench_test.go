package sticker

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"ecart/vision/take"
)

// BenchmarkFollow follows the three stickers of the demo's clip, 90 frames of 1920 by 1080, and compares the time with that of
// decoding the clip without looking at a frame.
func BenchmarkFollow(b *testing.B) {
	const path = "../../cmd/internal/demotake/leap.mp4"
	seeds := []Seed{{Name: "hip", At: ptOf(965, 470), Frame: 43}, {Name: "front-ankle", At: ptOf(1255, 517), Frame: 43},
		{Name: "back-ankle", At: ptOf(652, 515), Frame: 43}}
	ctx := context.Background()
	var follow, decode time.Duration
	for b.Loop() {
		for _, run := range []struct {
			took *time.Duration
			do   func(t *take.Take) error
		}{
			{&decode, func(t *take.Take) error { return t.Span(ctx, 0, 89, func(*take.Frame) error { return nil }) }},
			{&follow, func(t *take.Take) error {
				return Follow(ctx, Of(t), seeds, Options{}, func(Frame) error { return nil })
			}},
		} {
			start := time.Now()
			t, err := take.Open(ctx, path)
			require.NoError(b, err)
			require.NoError(b, run.do(t))
			require.NoError(b, t.Close())
			*run.took += time.Since(start)
		}
	}
	b.ReportMetric(float64(follow)/float64(decode), "of-decoding")
	b.ReportMetric(float64(follow.Milliseconds())/float64(b.N), "ms/follow")
}
