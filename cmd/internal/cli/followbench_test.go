package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/trial/scene"
)

const (
	benchFPS = 60

	// swing is the frames in which the built-in leap is shown forwards and back again, and reach
	// how much of it to either side of its middle, s: it is then shown at its own pace where it is
	// fastest. The swing back shows the poses of the swing forth, of which there are that many to
	// either side of the middle.
	swing, reach = 270, 43.0 / benchFPS
	poses        = swing / 4

	followPairs = 3 // each takes several seconds
)

// swung is a motion shown forwards and backwards again.
type swung struct {
	of     scene.Motion
	middle float64 // s
}

func (m swung) At(t float64) scene.Pose {
	return m.of.At(m.middle + reach*math.Sin(2*math.Pi*(t*benchFPS-poses)/swing))
}

// pose returns the number of the pose that is shown so many frames after the middle one.
func pose(after int) int {
	k := (after + poses) % swing
	if k < 0 {
		k += swing
	}
	return min(k, swing-1-k)
}

// leapClip returns the built-in leap shown forwards and backwards again for some seconds, with grain,
// coded as a phone does: High profile, B-frames, about 16 Mbit/s, and a key every so many frames;
// and seeds in the frame in its middle.
func leapClip(b *testing.B, seconds, keys int) (clip, seeds string, seed int) {
	dir, err := filepath.Abs(filepath.Join("..", "..", "..", ".cache", "bench"))
	require.NoError(b, err)
	require.NoError(b, os.MkdirAll(dir, 0o777))
	s, err := scene.Named("leap")
	require.NoError(b, err)
	const builtIn = 43 // the frame of the built-in marks
	s.Frames = 2*poses + 1
	s.Motion = swung{s.Motion, s.Time(builtIn)}
	n := seconds * benchFPS
	seed = n / 2

	type mark struct {
		Landmark string  `json:"landmark"`
		X        float64 `json:"x"`
		Y        float64 `json:"y"`
		SD       float64 `json:"sd_px"`
	}
	truth := s.Truth(pose(0))
	var marks []mark
	for _, k := range truth.Stickers {
		marks = append(marks, mark{k.Landmark, math.Round(k.Pixel[0]), math.Round(k.Pixel[1]), 1.5})
	}
	text, err := json.Marshal(map[string]any{"schema": "ecart/marks/1", "frame": seed, "facing": truth.Facing, "marks": marks})
	require.NoError(b, err)
	seeds = filepath.Join(b.TempDir(), "seeds.json")
	require.NoError(b, os.WriteFile(seeds, text, 0o600))

	clip = filepath.Join(dir, fmt.Sprintf("swung-%ds-key-%d.mp4", seconds, keys))
	if _, err := os.Stat(clip); err == nil {
		return clip, seeds, seed
	}
	drawn := filepath.Join(dir, "poses.mp4")
	if _, err := os.Stat(drawn); err != nil {
		_, err := s.WriteClip(b.Context(), drawn, scene.ClipOptions{CRF: 12, Preset: "veryfast"})
		require.NoError(b, err)
	}
	// through a file: the memory of this process would count as that of the processes it starts
	raw := filepath.Join(b.TempDir(), "poses.yuv")
	require.NoError(b, exec.Command("ffmpeg", "-v", "error", "-nostdin", "-i", drawn, "-f", "rawvideo", raw).Run())
	pictures, err := os.Open(raw)
	require.NoError(b, err)
	defer pictures.Close()
	size := int64(s.Camera.Width * s.Camera.Height * 3 / 2)
	part := filepath.Join(dir, "part-swung.mp4")
	c := exec.Command("ffmpeg", "-v", "error", "-y", "-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", fmt.Sprintf("%dx%d", s.Camera.Width, s.Camera.Height), "-r", strconv.Itoa(benchFPS), "-i", "-",
		"-vf", "noise=alls=8:allf=t", "-c:v", "libx264", "-preset", "veryfast", "-refs", "4", "-b:v", "16M", "-profile:v", "high", "-bf", "2", "-g", strconv.Itoa(keys), "-sc_threshold", "0", part)
	in, err := c.StdinPipe()
	require.NoError(b, err)
	c.Stderr = os.Stderr
	require.NoError(b, c.Start())
	for i := range n {
		_, err := io.Copy(in, io.NewSectionReader(pictures, int64(pose(i-seed))*size, size))
		require.NoError(b, err)
	}
	require.NoError(b, in.Close())
	require.NoError(b, c.Wait())
	require.NoError(b, os.Rename(part, clip))
	return clip, seeds, seed
}

// BenchmarkFollow is 'ecart follow' on ten seconds of 1080p60 with the seeds in their middle,
// beside the ffmpeg program that decodes the same clip to nothing, each a process from its start
// to its end: at most 1.3 times as long is wanted, and under 400 MB of memory. A phone sets a key
// about once a second, other encoders every 250 frames; what lies between two keys is kept until it
// has been followed backwards.
func BenchmarkFollow(b *testing.B) {
	bin := built(b)
	for _, keys := range []int{60, 250} {
		b.Run(fmt.Sprintf("a key every %d", keys), func(b *testing.B) {
			clip, seeds, _ := leapClip(b, 10, keys)
			var follow, decode []time.Duration
			var most int64
			for b.Loop() {
				for range followPairs {
					t, m := timed(b, ".", bin, "follow", clip, "--seeds", seeds, "--measure", "hip-split")
					follow, most = append(follow, t), max(most, m)
					t, _ = timed(b, ".", "ffmpeg", "-v", "error", "-nostdin", "-i", clip, "-f", "null", "-")
					decode = append(decode, t)
				}
			}
			b.ReportMetric(median(follow).Seconds(), "follow-s")
			b.ReportMetric(median(decode).Seconds(), "ffmpeg-s")
			b.ReportMetric(float64(median(follow))/float64(median(decode)), "ratio(max:1.3)")
			b.ReportMetric(float64(most)/1e6, "MB(max:400)")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// BenchmarkFollowClip is what --clip adds to 'ecart follow', a frame, beside the ffmpeg program that
// decodes the same clip and codes it again with the same settings.
func BenchmarkFollowClip(b *testing.B) {
	bin, dir := built(b), b.TempDir()
	clip, seeds, _ := leapClip(b, 10, 60)
	var plain, drawn, second []time.Duration
	for b.Loop() {
		for range followPairs {
			t, _ := timed(b, dir, bin, "follow", clip, "--seeds", seeds, "--measure", "hip-split")
			plain = append(plain, t)
			t, _ = timed(b, dir, bin, "follow", clip, "--seeds", seeds, "--measure", "hip-split", "--clip", "out.mp4")
			drawn = append(drawn, t)
			t, _ = timed(b, dir, "ffmpeg", "-v", "error", "-y", "-nostdin", "-i", clip, "-c:v", "libx264", "-preset", "veryfast", "-crf", "20", "again.mp4")
			second = append(second, t)
		}
	}
	added := median(drawn) - median(plain)
	b.ReportMetric(added.Seconds()*1000/(10*benchFPS), "ms/frame")
	b.ReportMetric(added.Seconds()/median(second).Seconds(), "of-recoding")
	b.ReportMetric(0, "ns/op")
}
