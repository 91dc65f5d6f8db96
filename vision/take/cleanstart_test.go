package take

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestCleanStarts counts the places in encoded clips where decoding may start. The encoder is
// told where to put its keys: every 15th picture, with no others.
func TestCleanStarts(t *testing.T) {
	const frames, every = 60, 15
	for _, c := range []struct {
		name, file string
		args       []string
		want       int
	}{
		{"H.264 IDR", "a.mp4", x264("keyint=15:min-keyint=15:scenecut=0"), frames / every},
		{"H.264 IDR with start codes", "a.ts", x264("keyint=15:min-keyint=15:scenecut=0"), frames / every},
		{"H.264 recovery points that are exact", "a.mp4", x264("keyint=15:min-keyint=15:scenecut=0:open-gop=1:bframes=3"), frames / every},
		{"H.264 gradual refresh starts clean only once", "a.mp4", x264("keyint=15:bframes=0:intra-refresh=1"), 1},
		{"HEVC IDR", "a.mp4", x265("keyint=15:min-keyint=15:scenecut=0:open-gop=0"), frames / every},
		{"HEVC CRA", "a.mp4", x265("keyint=15:min-keyint=15:scenecut=0:open-gop=1:bframes=3"), frames / every},
		{"every ProRes picture", "a.mov", []string{"-c:v", "prores_ks"}, frames},
	} {
		t.Run(c.name, func(t *testing.T) {
			take := open(t, encode(t, c.file, frames, c.args...))
			assert.Len(t, take.index.keys, c.want)
		})
	}
}

// TestBefore uses an open group, in decoding order I0 P3 B1 B2 I6 B4 B5: pictures 4 and 5 are decoded
// after the key 6 and need picture 3 from before it.
func TestBefore(t *testing.T) {
	packets := []packet{}
	for pos, pts := range []int64{0, 3, 1, 2, 6, 4, 5} {
		packets = append(packets, packet{pts: pts, dts: int64(pos) - 2, shown: true, key: pts%6 == 0})
	}
	x := &index{packets: len(packets)}
	assert.True(t, x.fill(packets))
	got := []int{}
	for i := range x.frames {
		got = append(got, x.before(i))
	}
	assert.Equal(t, []int{0, 0, 0, 0, 0, 0, 1}, got)
}

// TestUnusableTimes: fill refuses time stamps that cannot number the frames.
func TestUnusableTimes(t *testing.T) {
	fill := func(pts ...int64) bool {
		packets := []packet{}
		for _, p := range pts {
			packets = append(packets, packet{pts: p, shown: true})
		}
		return (&index{packets: len(packets)}).fill(packets)
	}
	assert.True(t, fill(-2, 4, 0, 2))
	assert.False(t, fill(0, 1, 1, 2), "double")
	assert.False(t, fill(0, -1<<63, 2), "missing")
	jump := []int64{}
	for i := range int64(2 * (maxReorder + 2)) {
		jump = append(jump, (i+maxReorder+2)%(2*(maxReorder+2)))
	}
	assert.False(t, fill(jump...), "a jump back further than any reordering")
}

func TestCleanStartOfDamagedPackets(t *testing.T) {
	for _, data := range [][]byte{nil, {}, {0}, {0, 0, 0, 9, 0x65}, {0, 0, 0, 1}, {0xff, 0xff, 0xff, 0xff, 0x65}, {0, 0, 0, 2, 6, 6}, {0, 0, 0, 3, 6, 0xff, 0xff}} {
		for size := range 5 {
			assert.False(t, cleanStart("h264", data, size), "%v %d", data, size)
			assert.False(t, cleanStart("hevc", data, size), "%v %d", data, size)
		}
	}
}

func FuzzCleanStart(f *testing.F) {
	f.Add([]byte{0, 0, 0, 2, 6, 6, 1, 0xc0, 0, 0, 0, 1, 0x65}, 4)
	f.Add([]byte{0, 0, 1, 0x26, 1, 0, 0, 1, 0x65}, 0)
	f.Fuzz(func(t *testing.T, data []byte, size int) {
		cleanStart("h264", data, size&7)
		cleanStart("hevc", data, size&7)
	})
}

// keyFrames returns the numbers of the frames that the ffprobe program reports as keys.
func keyFrames(t *testing.T, path string) map[int]bool {
	out := command(t, "ffprobe", "-v", "error", "-select_streams", "v:0", "-show_entries", "frame=key_frame", "-of", "csv=p=0", path)
	keys := map[int]bool{}
	for i, line := range strings.Fields(string(out)) {
		keys[i] = strings.HasPrefix(line, "1")
	}
	return keys
}

// TestCleanStart reads clips backwards in stretches from each clean start to the frame before the next
// one: every frame equals that of a straight decode, and no other picture is decoded but the leading
// pictures of an open group.
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
				require.Equal(t, want[hi].md5, samplesMD5(frame(t, take, hi)), "the reader is still usable")
				hi = lo - 3 // ends within a group
			}
			none := func(*Frame) error { t.Error("there is no such frame"); return nil }
			require.Error(t, take.Span(context.Background(), 3, frames, none))
			require.NoError(t, take.Span(context.Background(), 5, 4, none))
		})
	}
}

// For a key that an edit list hides, CleanStart returns the first frame after it. If frames are
// counted, it returns 0.
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
