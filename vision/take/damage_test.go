package take

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestTruncatedClips: the frames of a truncated clip are exact and keep their numbers, and a warning
// says where the clip ends.
func TestTruncatedClips(t *testing.T) {
	const n = 90
	for name, c := range map[string]struct {
		file string
		args []string
	}{
		"MP4":       {"a.mp4", x264("keyint=30:bframes=3", "-movflags", "faststart")},
		"HEVC":      {"a.mp4", x265("keyint=30:bframes=3", "-movflags", "faststart")},
		"fragments": {"a.mp4", x264("keyint=15:bframes=3", "-movflags", "frag_keyframe+empty_moov+default_base_moof")},
	} {
		whole := encode(t, c.file, n, c.args...)
		want := straight(t, whole)
		for _, part := range []float64{0.2, 0.5, 0.77, 0.98} {
			t.Run(fmt.Sprint(name, part), func(t *testing.T) {
				take := open(t, rewrite(t, whole, c.file, func(b []byte) []byte { return b[:int(part*float64(len(b)))] }))
				info := take.Info()
				// The coded pictures are of about the same size; keys are larger.
				assert.Greater(t, info.Frames, int(part*n)-30)
				assert.Less(t, info.Frames, n)
				requireExact(t, take, want[:info.Frames], shuffled(info.Frames, 1))
				requireStream(t, take, want[:info.Frames], 0)
				require.NotEmpty(t, info.Warnings)
				assert.Contains(t, info.Warnings[0], fmt.Sprintf("ends at frame %d (%.3f s)", info.Frames-1, take.Time(info.Frames-1).Seconds()))
			})
		}
	}
}

// TestTruncatedStreamable: containers for streaming have no list of their pictures. The frames of a
// truncated one are exact.
func TestTruncatedStreamable(t *testing.T) {
	const n = 120
	for _, file := range []string{"a.mkv", "a.ts"} {
		whole := encode(t, file, n, x264("keyint=30:bframes=3")...)
		want := straight(t, whole)
		for _, part := range []float64{0.3, 0.6} {
			take := open(t, rewrite(t, whole, file, func(b []byte) []byte { return b[:int(part*float64(len(b)))] }))
			info := take.Info()
			assert.Greater(t, info.Frames, int(part*n)-30)
			assert.Less(t, info.Frames, n)
			// The last pictures may be predicted from ones that are lost.
			complete := info.Frames - maxReorder/2
			for _, i := range shuffled(complete, 1) {
				require.Equal(t, want[i].md5, samplesMD5(frame(t, take, i)), "%s frame %d", file, i)
				require.Equal(t, since(want, i), take.Time(i))
			}
		}
	}
}

// packetAt returns the offset and size of the packet of frame i in the file, bytes.
func packetAt(t *testing.T, path string, i int) (from, size int) {
	t.Helper()
	out, err := exec.Command("ffprobe", "-v", "error", "-select_streams", "v", "-show_entries", "packet=pts,pos,size", "-of", "csv=p=0", path).Output()
	require.NoError(t, err)
	type packet struct{ pts, size, pos int }
	var all []packet
	for line := range strings.Lines(string(out)) {
		var p packet
		f := strings.Split(strings.TrimSpace(line), ",")
		for j, v := range []*int{&p.pts, &p.size, &p.pos} {
			*v, err = strconv.Atoi(f[j])
			require.NoError(t, err, line)
		}
		all = append(all, p)
	}
	for _, p := range all {
		earlier := 0
		for _, q := range all {
			if q.pts < p.pts {
				earlier++
			}
		}
		if earlier == i {
			return p.pos, p.size
		}
	}
	require.Fail(t, "no such frame")
	return 0, 0
}

// TestLostStart: if the first pictures of a clip cannot be decoded, frames are numbered without them and a
// warning states their number; the frames after them are exact.
func TestLostStart(t *testing.T) {
	whole := encode(t, "a.mp4", 30, x265("keyint=10:min-keyint=10:bframes=0:open-gop=0")...)
	require.Empty(t, open(t, whole).Info().Warnings)
	at, _ := packetAt(t, whole, 0)
	take := open(t, rewrite(t, whole, "a.mp4", func(b []byte) []byte {
		for n := 0; b[at+4]>>1 != 20; n++ { // past the parameter sets, to the picture
			require.Less(t, n, 10)
			at += 4 + int(binary.BigEndian.Uint32(b[at:]))
		}
		b[at+4] = 41 << 1 // a reserved kind, which decoders skip (ITU-T H.265 table 7-1)
		return b
	}))
	info := take.Info()
	require.NotEmpty(t, info.Warnings)
	n := 30 - info.Frames
	assert.Positive(t, n)
	assert.Equal(t, fmt.Sprintf("what the clip begins with cannot be decoded (%s): frames and times count from the first one that can", plural(n)), info.Warnings[0])
	want := straight(t, whole)[n:]
	for i := 10 - n; i < info.Frames; i++ {
		require.Equal(t, want[i].md5, samplesMD5(frame(t, take, i)), "frame %d", i)
	}
}

// TestLostPicture: a picture whose bytes are overwritten is missing or marked as damaged, and no other
// frame takes its number. From the next clean start on all frames are exact and unmarked.
func TestLostPicture(t *testing.T) {
	const n, every, lost = 60, 20, 27
	for name, args := range map[string][]string{
		"H.264": x264("keyint=20:min-keyint=20:scenecut=0:bframes=0"),
		"HEVC":  x265("keyint=20:min-keyint=20:scenecut=0:bframes=0:open-gop=0"),
	} {
		for what, change := range map[string]func(int, byte) byte{
			"zeros": func(int, byte) byte { return 0 },
			"noise": func(i int, b byte) byte { return b ^ byte(i*37) },
		} {
			t.Run(name+" "+what, func(t *testing.T) {
				whole := encode(t, "a.mp4", n, args...)
				want := straight(t, whole)
				from, size := packetAt(t, whole, lost)
				take := open(t, rewrite(t, whole, "a.mp4", func(b []byte) []byte {
					for i := from + 4; i < from+size; i++ {
						b[i] = change(i, b[i])
					}
					return b
				}))
				require.Equal(t, n, take.Info().Frames)
				check := func(f *Frame) {
					assert.Equal(t, since(want, f.Index), f.Time)
					if f.Index < lost || f.Index >= lost/every*every+every {
						assert.Equal(t, want[f.Index].md5, samplesMD5(f), "frame %d", f.Index)
						assert.Equal(t, f.Index, readNumber(t, f))
						assert.False(t, f.Damaged, "frame %d", f.Index)
					} else if samplesMD5(f) != want[f.Index].md5 {
						assert.True(t, f.Damaged, "frame %d", f.Index)
					}
				}
				for _, i := range shuffled(n, 1) {
					f, err := take.Frame(context.Background(), i)
					if err != nil {
						assert.True(t, i >= lost && i < lost/every*every+every, "frame %d: %v", i, err)
						requireWords(t, err, "cannot be decoded")
						continue
					}
					check(f)
				}
				streamed := 0
				require.NoError(t, take.Stream(context.Background(), 0, func(f *Frame) error {
					streamed++
					check(f)
					return nil
				}))
				assert.Greater(t, streamed, n-every)
				require.NoError(t, take.Stream(context.Background(), lost, func(f *Frame) error {
					check(f)
					return nil
				}))
			})
		}
	}
}

// TestMutated changes bytes of small clips at random: nothing crashes, errors have their form, and a
// clip that opens can be read to its end.
func TestMutated(t *testing.T) {
	const rounds = 15
	r := rand.New(rand.NewPCG(7, 7))
	for file, args := range map[string][]string{
		"a.mp4": x264("keyint=10:bframes=2"), "b.mov": x265("keyint=10:bframes=2"), "c.mkv": x264("keyint=10:bframes=2"), "d.ts": x264("keyint=10"),
	} {
		clip, err := os.ReadFile(encode(t, file, 20, args...))
		require.NoError(t, err)
		header := max(bytes.Index(clip, []byte("moov")), 0) // the tables, where damage has the largest effect
		for range rounds {
			requireSurvives(t, write(t, file, mutate(clip, header, r)), r)
		}
	}
}

func mutate(clip []byte, header int, r *rand.Rand) []byte {
	out := bytes.Clone(clip)
	for range 1 + r.IntN(12) {
		at := r.IntN(len(out))
		if r.IntN(2) == 0 {
			at = min(header+r.IntN(1200), len(out)-1)
		}
		switch r.IntN(3) {
		case 0:
			out[at] = byte(r.Uint32())
		case 1:
			out[at] ^= 1 << r.IntN(8)
		case 2:
			copy(out[at:min(at+4, len(out))], []byte{0xff, 0xff, 0xff, 0xff})
		}
	}
	return out
}

func requireSurvives(t *testing.T, path string, r *rand.Rand) {
	t.Helper()
	take, err := Open(context.Background(), path)
	if err != nil {
		requireWords(t, err, "")
		return
	}
	defer take.Close()
	info := take.Info()
	require.NoError(t, checkSize("", info.Width, info.Height))
	last := -1
	err = take.Stream(context.Background(), 0, func(f *Frame) error {
		require.Greater(t, f.Index, last)
		last = f.Index
		f.Region(f.Bounds().Inset(3))
		return nil
	})
	if err != nil {
		requireWords(t, err, "")
	}
	for range 4 {
		f, err := take.Frame(context.Background(), r.IntN(info.Frames))
		if err == nil {
			f.Image()
			continue
		}
		var known *Error
		require.True(t, errors.As(err, &known), "%v", err)
	}
}
