package take

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// keyFrames are the frames that the ffprobe program calls keys, by number.
func keyFrames(t *testing.T, path string) map[int]bool {
	out := command(t, "ffprobe", "-v", "error", "-select_streams", "v:0", "-show_entries", "frame=key_frame", "-of", "csv=p=0", path)
	keys := map[int]bool{}
	for i, line := range strings.Fields(string(out)) {
		keys[i] = strings.HasPrefix(line, "1")
	}
	return keys
}

// TestCleanStart reads clips backwards, from each clean start to the frame before the next one:
// every frame as in a straight decode, and no picture decoded but those and the few that an open
// group holds back.
func TestCleanStart(t *testing.T) {
	const (
		frames = 75
		later  = 3 // pictures after the last of a span that it may be made from
	)
	for _, c := range []struct {
		name, file string
		lead       int // pictures at most that are decoded after a key and shown before it
		args       []string
	}{
		{"H.264", "a.mp4", 0, x264("keyint=15:min-keyint=15:scenecut=0:bframes=3")},
		{"H.264 with open groups", "a.mp4", 3, x264("keyint=15:min-keyint=15:scenecut=0:bframes=3:open-gop=1")},
		{"H.264 in a transport stream", "a.ts", 3, x264("keyint=15:min-keyint=15:scenecut=0:bframes=3:open-gop=1")},
		{"HEVC with open groups", "a.mp4", 4, x265("keyint=15:min-keyint=15:scenecut=0:bframes=4:open-gop=1", "-tag:v", "hvc1")},
		{"H.264 with one key", "a.mp4", 0, x264("keyint=infinite:bframes=2")},
		{"ProRes", "a.mov", 0, []string{"-c:v", "prores_ks"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := encode(t, c.file, frames, c.args...)
			want, keys := straight(t, path), keyFrames(t, path)
			require.Len(t, keys, frames)
			take := open(t, path)
			at := 0
			for i := range frames {
				if keys[i] {
					at = i
				}
				assert.Equal(t, at, take.CleanStart(i), "frame %d", i)
			}
			assert.Equal(t, 0, take.CleanStart(-3))
			assert.Equal(t, at, take.CleanStart(frames+3))

			r, err := openReader(context.Background(), path, take.known, 1, take.index)
			require.NoError(t, err)
			defer r.close()
			for hi := frames - 1; hi >= 0; {
				lo := take.CleanStart(hi)
				r.decoded = 0
				for i := lo; i <= hi; i++ {
					s, err := r.goTo(context.Background(), i)
					require.NoError(t, err)
					f, err := take.makeFrame(r, s, i)
					require.NoError(t, err)
					require.Equal(t, want[i].md5, samplesMD5(f), "frame %d", i)
					f.picture.Release()
				}
				require.LessOrEqual(t, r.decoded, hi-lo+1+c.lead, "frames %d to %d", lo, hi)
				hi = lo - 1
			}

			for hi := frames - 1; hi >= 0; {
				lo := take.CleanStart(hi)
				next, came := lo, take.idle.decoded
				require.NoError(t, take.Span(context.Background(), lo, hi, func(f *Frame) error {
					require.Equal(t, next, f.Index)
					require.Equal(t, want[next].md5, samplesMD5(f), "frame %d", next)
					next++
					return nil
				}))
				require.Equal(t, hi+1, next)
				require.LessOrEqual(t, take.idle.decoded-came, hi-lo+1+c.lead+later, "frames %d to %d", lo, hi)
				require.Equal(t, want[hi].md5, samplesMD5(frame(t, take, hi)), "the reader goes on to be used")
				hi = lo - 3 // and ends within a group
			}
			none := func(*Frame) error { t.Error("there is no such frame"); return nil }
			require.Error(t, take.Span(context.Background(), 3, frames, none))
			require.NoError(t, take.Span(context.Background(), 5, 4, none))
		})
	}
}

// A key that an edit list hides stands for the first frame after it, and counted frames have no
// start but the first.
func TestCleanStartWithoutKeys(t *testing.T) {
	whole := encode(t, "whole.mp4", 90, x264("keyint=40:min-keyint=40:bframes=3:scenecut=0")...)
	cut := t.TempDir() + "/cut.mp4"
	ffmpeg(t, "-ss", "0.5", "-i", whole, "-c", "copy", cut)
	trimmed := open(t, cut)
	keys := keyFrames(t, cut)
	at := 0
	for i := range trimmed.Info().Frames {
		if keys[i] {
			at = i
		}
		assert.Equal(t, at, trimmed.CleanStart(i), "frame %d", i)
	}
	assert.Positive(t, at)

	counted := open(t, encode(t, "a.avi", 40, x264("keyint=15:bframes=3")...))
	require.True(t, counted.index.counted)
	assert.Equal(t, 0, counted.CleanStart(39))

	stop := errors.New("enough")
	require.ErrorIs(t, trimmed.Stream(context.Background(), trimmed.CleanStart(at+1), func(f *Frame) error {
		assert.Equal(t, at, f.Index)
		return stop
	}), stop)
}
