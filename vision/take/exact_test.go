package take

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestExactFrames compares the frames of every kind of clip with a straight decode by the ffmpeg program.
func TestExactFrames(t *testing.T) {
	jitter := "settb=1/90000,setpts='(N*3003+1100*mod(N*7\\,5)/5)'"
	for _, c := range []struct {
		name, file string
		frames     int
		args       []string
		counted    bool // frames can only be numbered by counting
		variable   bool
		bare       bool // no time stamps: frame i is at i/30 s
	}{
		{name: "H.264 with B-frames", file: "a.mp4", frames: 90, args: x264("keyint=30:bframes=3:b-pyramid=normal:scenecut=0")},
		{name: "H.264 without B-frames", file: "a.mov", frames: 60, args: x264("keyint=20:bframes=0")},
		{name: "H.264 with open groups", file: "a.mp4", frames: 90, args: x264("keyint=15:bframes=4:open-gop=1:scenecut=0")},
		{name: "H.264 with gradual refresh", file: "a.mp4", frames: 90, args: x264("keyint=15:bframes=0:intra-refresh=1")},
		{name: "H.264 with one key", file: "a.mp4", frames: 60, args: x264("keyint=infinite:bframes=2")},
		{name: "H.264 all keys", file: "a.mp4", frames: 40, args: x264("keyint=1")},
		{name: "H.264 10 bit 4:2:2", file: "a.mp4", frames: 40, args: x264("keyint=12", "-pix_fmt", "yuv422p10")},
		{name: "H.264 full range", file: "a.mp4", frames: 40, args: x264("keyint=12", "-pix_fmt", "yuvj420p")},
		{name: "H.264 grey", file: "a.mp4", frames: 40, args: x264("keyint=12", "-pix_fmt", "gray")},
		{name: "H.264 variable rate", file: "a.mp4", frames: 90, variable: true,
			args: x264("keyint=30:bframes=3", "-vf", jitter, "-fps_mode", "passthrough", "-enc_time_base", "1/90000", "-video_track_timescale", "90000")},
		{name: "H.264 time stamps below zero", file: "a.mp4", frames: 60,
			args: x264("keyint=20:bframes=3", "-movflags", "negative_cts_offsets", "-use_editlist", "0")},
		{name: "H.264 stored as fields", file: "a.mp4", frames: 40, counted: true, args: x264("keyint=12:tff=1", "-flags", "+ildct+ilme")},
		{name: "H.264 in fragments", file: "a.mp4", frames: 60, args: x264("keyint=15:bframes=2", "-movflags", "frag_keyframe+empty_moov")},
		{name: "H.264 in Matroska", file: "a.mkv", frames: 60, args: x264("keyint=15:bframes=3")},
		{name: "H.264 in a transport stream", file: "a.ts", frames: 60, args: x264("keyint=15:bframes=3")},
		{name: "H.264 in AVI", file: "a.avi", frames: 40, counted: true, args: x264("keyint=15:bframes=3")},
		{name: "bare H.264", file: "a.h264", frames: 40, counted: true, bare: true, args: x264("keyint=15:bframes=3")},
		{name: "bare HEVC", file: "a.hevc", frames: 40, counted: true, bare: true, args: x265("keyint=15:bframes=3")},
		{name: "bare MPEG-2", file: "a.m2v", frames: 40, counted: true, bare: true, args: []string{"-c:v", "mpeg2video", "-bf", "2", "-g", "12"}},
		{name: "bare MPEG-4 part 2", file: "a.m4v", frames: 40, counted: true, bare: true, args: []string{"-c:v", "mpeg4", "-g", "12", "-f", "m4v"}},
		{name: "HEVC with open groups", file: "a.mp4", frames: 90, args: x265("keyint=20:min-keyint=20:open-gop=1:bframes=4:scenecut=0", "-tag:v", "hvc1")},
		{name: "HEVC 10 bit", file: "a.mov", frames: 60, args: x265("keyint=20:bframes=3", "-pix_fmt", "yuv420p10")},
		{name: "HEVC variable rate", file: "a.mp4", frames: 60, variable: true,
			args: x265("keyint=20:bframes=3", "-vf", jitter, "-fps_mode", "passthrough", "-enc_time_base", "1/90000", "-video_track_timescale", "90000")},
		{name: "MPEG-4 part 2", file: "a.mp4", frames: 40, counted: true, args: []string{"-c:v", "mpeg4", "-bf", "2", "-g", "12"}},
		{name: "MJPEG in AVI", file: "a.avi", frames: 30, counted: true, args: []string{"-c:v", "mjpeg"}},
		{name: "ProRes", file: "a.mov", frames: 20, args: []string{"-c:v", "prores_ks"}},
		{name: "VP9", file: "a.webm", frames: 40, args: []string{"-c:v", "libvpx-vp9", "-deadline", "realtime", "-cpu-used", "8", "-g", "12"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := encode(t, c.file, c.frames, c.args...)
			want := straight(t, path)
			require.Len(t, want, c.frames)
			for i := range want {
				if c.bare {
					want[i].pts.SetFrac64(int64(i), 30)
				}
			}
			take := open(t, path)
			assert.Equal(t, c.counted, take.index.counted)
			assert.Equal(t, c.variable, take.Info().Variable)
			if c.bare {
				assert.Contains(t, take.Info().Warnings, "the file has no usable time stamps: times are counted at 30 frames a second, which may not be the camera's rate")
			}
			requireExact(t, take, want, shuffled(c.frames, 1))
			requireStream(t, take, want, 0)
			requireStream(t, take, want, c.frames/2)
			for _, i := range shuffled(c.frames, 2)[:10] {
				f, err := take.Frame(context.Background(), i)
				require.NoError(t, err)
				assert.Equal(t, i, readNumber(t, f))
			}
		})
	}
}

// TestTrimmed compares clips cut without re-encoding, whose edit lists hide the pictures before the cut or
// which begin in the middle of an open group, with a straight decode.
func TestTrimmed(t *testing.T) {
	whole := map[string]string{
		"H.264": encode(t, "whole.mp4", 120, x264("keyint=40:bframes=3:scenecut=0")...),
		"HEVC":  encode(t, "whole.mp4", 120, x265("keyint=24:min-keyint=24:open-gop=1:bframes=4:scenecut=0")...),
	}
	for name, path := range whole {
		for _, from := range []string{"0.5", "1.37", "2.0"} {
			for _, file := range []string{"cut.mp4", "cut.mov", "cut.mkv", "cut.ts"} {
				if from != "1.37" && file != "cut.mp4" { // one place in every container, every place in one
					continue
				}
				t.Run(name+" "+from+" "+file, func(t *testing.T) {
					cut := t.TempDir() + "/" + file
					ffmpeg(t, "-ss", from, "-i", path, "-c", "copy", cut)
					want := straight(t, cut)
					take := open(t, cut)
					require.NotEmpty(t, want)
					requireExact(t, take, want, shuffled(len(want), 3))
					requireStream(t, take, want, len(want)/3)
				})
			}
		}
	}
}

// TestAnyOrder reads frames in random order, with steps forward and back and calls of Stream in between.
func TestAnyOrder(t *testing.T) {
	const n = 75
	path := encode(t, "a.mp4", n, x264("keyint=25:bframes=3:open-gop=1")...)
	want := straight(t, path)
	take := open(t, path)
	rapid.Check(t, func(rt *rapid.T) {
		at := 0
		for range rapid.IntRange(1, 12).Draw(rt, "accesses") {
			switch rapid.IntRange(0, 3).Draw(rt, "kind") {
			case 0:
				at = min(at+1, n-1)
			case 1:
				at = max(at-1, 0)
			case 2:
				at = rapid.IntRange(0, n-1).Draw(rt, "frame")
			case 3:
				from := rapid.IntRange(n-10, n-1).Draw(rt, "from")
				requireStream(t, take, want, from)
			}
			if rapid.Bool().Draw(rt, "decode again") {
				take.recent = nil
			}
			f, err := take.Frame(context.Background(), at)
			require.NoError(rt, err)
			require.Equal(rt, want[at].md5, samplesMD5(f))
			require.Equal(rt, since(want, at), f.Time)
		}
	})
}
