package cli

import (
	"bytes"
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

	"ecart/cmd/internal/scene"
)

const (
	benchW, benchH, benchFPS = 1920, 1080, 60

	// swing is the time in which the built-in leap is shown forwards and back again, and
	// reach how many of its frames to either side of its middle: it is then shown at its own
	// pace where it is fastest.
	swing, reach = 4.5, 43

	followPairs = 3 // each takes several seconds
)

// leapClip is the built-in leap shown forwards and backwards again for some seconds, with grain,
// coded as a phone does: High profile, B-frames, about 16 Mbit/s, and a key every so many frames;
// and seeds in the frame in its middle.
func leapClip(b *testing.B, seconds, keys int) (clip, seeds string, seed int) {
	dir, err := filepath.Abs(filepath.Join("..", "..", "..", ".cache", "bench"))
	require.NoError(b, err)
	require.NoError(b, os.MkdirAll(dir, 0o777))
	clip = filepath.Join(dir, fmt.Sprintf("leap-%ds-key-%d.mp4", seconds, keys))
	n := seconds * benchFPS
	order := make([]int, n)
	middle := 43 // the frame of the built-in marks
	for i := range order {
		order[i] = middle + int(math.Round(reach*math.Sin(2*math.Pi*float64(i-n/2)/(swing*benchFPS))))
	}
	data, text := scene.Demo()
	seeds = filepath.Join(b.TempDir(), "seeds.json")
	text = bytes.Replace(text, []byte(`"frame": 43`), []byte(`"frame": `+strconv.Itoa(n/2)), 1)
	cut := bytes.LastIndex(text, []byte(",\n  {")) // the shoulder has no sticker
	text = append(text[:cut:cut], []byte("\n ]\n}\n")...)
	require.NoError(b, os.WriteFile(seeds, text, 0o600))
	if _, err := os.Stat(clip); err == nil {
		return clip, seeds, n / 2
	}
	whole := filepath.Join(b.TempDir(), "leap.mp4")
	require.NoError(b, os.WriteFile(whole, data, 0o600))
	raw, err := exec.Command("ffmpeg", "-v", "error", "-i", whole, "-f", "rawvideo", "-").Output()
	require.NoError(b, err)
	const size = benchW * benchH * 3 / 2
	part := filepath.Join(dir, "part-leap.mp4")
	c := exec.Command("ffmpeg", "-v", "error", "-y", "-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", "1920x1080", "-r", strconv.Itoa(benchFPS), "-i", "-",
		"-vf", "noise=alls=8:allf=t", "-c:v", "libx264", "-preset", "veryfast", "-refs", "4", "-b:v", "16M", "-profile:v", "high", "-bf", "2", "-g", strconv.Itoa(keys), "-sc_threshold", "0", part)
	in, err := c.StdinPipe()
	require.NoError(b, err)
	c.Stderr = os.Stderr
	require.NoError(b, c.Start())
	for _, k := range order {
		_, err := io.Copy(in, bytes.NewReader(raw[k*size:(k+1)*size]))
		require.NoError(b, err)
	}
	require.NoError(b, in.Close())
	require.NoError(b, c.Wait())
	require.NoError(b, os.Rename(part, clip))
	return clip, seeds, n / 2
}

// BenchmarkFollow is 'ecart follow' on ten seconds of 1080p60 with the seeds in their middle,
// beside the ffmpeg program that decodes the same clip to nothing, each a process from its start
// to its end: at most 1.3 times as long is wanted, and under 400 MB of memory. A phone sets a key
// about once a second; between keys farther apart than fit into memory, what lies before the
// seeds is decoded more than once.
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
	var plain, drawn, again []time.Duration
	for b.Loop() {
		for range followPairs {
			t, _ := timed(b, dir, bin, "follow", clip, "--seeds", seeds, "--measure", "hip-split")
			plain = append(plain, t)
			t, _ = timed(b, dir, bin, "follow", clip, "--seeds", seeds, "--measure", "hip-split", "--clip", "out.mp4")
			drawn = append(drawn, t)
			t, _ = timed(b, dir, "ffmpeg", "-v", "error", "-y", "-nostdin", "-i", clip, "-c:v", "libx264", "-preset", "veryfast", "-crf", "20", "again.mp4")
			again = append(again, t)
		}
	}
	added := median(drawn) - median(plain)
	b.ReportMetric(added.Seconds()*1000/(10*benchFPS), "ms/frame")
	b.ReportMetric(added.Seconds()/median(again).Seconds(), "of-recoding")
	b.ReportMetric(0, "ns/op")
}
