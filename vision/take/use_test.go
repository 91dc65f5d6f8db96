package take

import (
	"context"
	"fmt"
	"image"
	"sync"
	"testing"

	"ecart/vision/internal/av"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestClipInfo(t *testing.T) {
	take := open(t, encode(t, "a.mov", 30, x265("keyint=10:transfer=smpte2084", "-pix_fmt", "yuv420p10")...))
	info := take.Info()
	assert.Equal(t, "a.mov", info.Name)
	assert.Equal(t, "hevc", info.Codec)
	assert.Equal(t, 10, info.BitDepth)
	assert.True(t, info.HDR)
	assert.False(t, info.Still)
	assert.InDelta(t, 30, info.NominalRate, 1e-9)
	assert.Equal(t, info.NominalRate, info.TrueRate)
	sum, err := take.SHA256(t.Context())
	require.NoError(t, err)
	assert.Equal(t, hashFile(context.Background(), take.path), sum)
	require.Len(t, info.Warnings, 1)
	assert.Contains(t, info.Warnings[0], "high dynamic range")
}

// TestNoNeedlessSeeks: reading forward, one frame or a few at a time, decodes on without a seek.
func TestNoNeedlessSeeks(t *testing.T) {
	for name, args := range map[string][]string{
		"keys everywhere": x264("keyint=1"), "one key": x264("keyint=infinite:bframes=3"), "short groups": x265("keyint=5:bframes=2"),
	} {
		t.Run(name, func(t *testing.T) {
			take := open(t, encode(t, "a.mp4", 60, args...))
			frame(t, take, 20)
			jumps := take.idle.jumps
			for i := 21; i < 60; i += 1 + i%3 {
				frame(t, take, i)
			}
			frame(t, take, 59)
			assert.Equal(t, jumps, take.idle.jumps)
			frame(t, take, 3)
			assert.Greater(t, take.idle.jumps, jumps, "back")
		})
	}
}

func TestManyGoroutines(t *testing.T) {
	const n = 40
	path := encode(t, "a.mp4", n, x264("keyint=10:bframes=2")...)
	want := straight(t, path)
	take := open(t, path)
	var all sync.WaitGroup
	for g := range 4 {
		all.Go(func() {
			for _, i := range shuffled(n, uint64(g))[:12] {
				f, err := take.Frame(context.Background(), i)
				if assert.NoError(t, err) {
					assert.Equal(t, want[i].md5, samplesMD5(f))
				}
			}
			next := 5 * g
			assert.NoError(t, take.Stream(context.Background(), next, func(f *Frame) error {
				if f.Index != next || samplesMD5(f) != want[next].md5 {
					return fmt.Errorf("frame %d where %d was due", f.Index, next)
				}
				next++
				if next == n/2 { // from within
					_, err := take.Frame(context.Background(), 1)
					return err
				}
				return nil
			}))
			assert.Equal(t, n, next)
			assert.Equal(t, n, take.Info().Frames)
		})
	}
	all.Wait()
}

// TestFrameParts: parts agree with the whole, and a frame of Stream cannot be used after fn returns
// unless it was cloned.
func TestFrameParts(t *testing.T) {
	take := open(t, encode(t, "a.mp4", 5, x264("keyint=5")...))
	f := frame(t, take, 2)
	whole := f.Image()
	part := f.Region(image.Rect(150, -10, 400, 20))
	assert.Equal(t, image.Rect(150, 0, clipW, 20), part.Rect)
	assert.Equal(t, whole.SubImage(part.Rect).(*image.RGBA).RGBAAt(160, 11), part.RGBAAt(160, 11))
	assert.True(t, f.Region(image.Rect(500, 500, 600, 600)).Rect.Empty())

	var kept, gone *Frame
	require.NoError(t, take.Stream(context.Background(), 2, func(f *Frame) error {
		if kept == nil {
			kept, gone = f.Clone(), f
		}
		return nil
	}))
	assert.Equal(t, whole, kept.Image())
	assert.PanicsWithValue(t, "take: a frame was used after the function of Stream returned; use Clone to keep it", func() { gone.Image() })
	require.NoError(t, take.Close())
	assert.Equal(t, whole, f.Image(), "frames outlive the take")
}

// TestPanicInStream: a panic in fn leaves the take usable.
func TestPanicInStream(t *testing.T) {
	take := open(t, encode(t, "a.mp4", 20, x264("keyint=5")...))
	assert.Panics(t, func() {
		_ = take.Stream(context.Background(), 0, func(*Frame) error { panic("the caller's") })
	})
	assert.Equal(t, 13, readNumber(t, frame(t, take, 13)))
}

// TestFramesAskedForAgain reads a clip with one key, in which each way back decodes from the start: a frame asked for
// shortly before is not decoded again, one asked for long before is.
func TestFramesAskedForAgain(t *testing.T) {
	take := open(t, encode(t, "a.mp4", 60, x264("keyint=infinite:bframes=2")...))
	decoded := func(frames ...int) int {
		before := 0
		if take.idle != nil {
			before = take.idle.decoded
		}
		for _, i := range frames {
			f, err := take.Frame(context.Background(), i)
			require.NoError(t, err)
			require.Equal(t, i, readNumber(t, f))
		}
		return take.idle.decoded - before
	}
	decoded(40)
	assert.Equal(t, 5, decoded(41, 40, 42, 40, 43, 44, 45, 40, 44), "41 to 45, each once")
	assert.Equal(t, 8, decoded(46, 47, 48, 49, 50, 51, 52, 53))
	assert.Equal(t, 41, decoded(40), "from the key on")
	assert.Len(t, take.recent, mostRecent)
	take.keep(&Frame{picture: &av.Picture{Planes: [3][]byte{make([]byte, 2*recentMemory)}}})
	assert.Len(t, take.recent, 1, "one that is too large for all others is kept alone")
}
