package take

import (
	"context"
	"fmt"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// benchClip returns a clip for benchmarks, encoded once and kept in the user's cache.
func benchClip(b *testing.B, name, size string, rate, seconds int, args ...string) string {
	b.Helper()
	cache, err := os.UserCacheDir()
	require.NoError(b, err)
	dir := filepath.Join(cache, "ecart", "bench")
	require.NoError(b, os.MkdirAll(dir, 0o755))
	path := filepath.Join(dir, name)
	if _, err := os.Stat(path); err == nil {
		return path
	}
	part := filepath.Join(dir, "part-"+name)
	in := fmt.Sprintf("testsrc2=s=%s:r=%d:d=%d,noise=alls=8:allf=t", size, rate, seconds)
	args = append([]string{"-f", "lavfi", "-i", in, "-pix_fmt", "yuv420p"}, args...)
	ffmpeg(b, append(args, part)...)
	require.NoError(b, os.Rename(part, path))
	return path
}

func clip1080p60(b *testing.B, keyint string) string {
	return benchClip(b, "1080p60-"+keyint+".mp4", "1920x1080", 60, 8,
		x264("threads=0:keyint="+keyint+":bframes=2", "-b:v", "16M")...)
}

// timed adds the time that do takes to total.
func timed(total *time.Duration, do func()) {
	start := time.Now()
	do()
	*total += time.Since(start)
}

// BenchmarkFrame300 opens a clip and reads frame 300, hash and colours included, and compares the time
// with that of the ffmpeg program for decoding the same 301 frames without output.
func BenchmarkFrame300(b *testing.B) {
	for _, keyint := range []string{"60", "infinite"} {
		b.Run("keyint="+keyint, func(b *testing.B) {
			path := clip1080p60(b, keyint)
			var ours, theirs time.Duration
			for b.Loop() {
				timed(&theirs, func() { ffmpeg(b, "-i", path, "-map", "0:v", "-frames:v", "301", "-f", "null", "-") })
				timed(&ours, func() {
					take, err := Open(context.Background(), path)
					require.NoError(b, err)
					f, err := take.Frame(context.Background(), 300)
					require.NoError(b, err)
					f.Image()
					take.Info()
					require.NoError(b, take.Close())
				})
			}
			b.ReportMetric(float64(ours)/float64(theirs), "of-ffmpeg")
			b.ReportMetric(float64(ours.Milliseconds())/float64(b.N), "ms/frame300")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// BenchmarkStream decodes a whole clip, without colours and with eight small windows of each frame, and
// compares the time with that of the ffmpeg program for decoding it without output.
func BenchmarkStream(b *testing.B) {
	windows := make([]*image.RGBA, 8)
	for i := range windows {
		windows[i] = image.NewRGBA(image.Rect(0, 0, 96, 96).Add(image.Pt(200*i, 120*i)))
	}
	for name, look := range map[string]func(*Frame){
		"no colours": func(*Frame) {},
		"windows": func(f *Frame) {
			for _, w := range windows {
				f.Fill(w)
			}
		},
	} {
		b.Run(name, func(b *testing.B) {
			path := clip1080p60(b, "60")
			var ours, theirs time.Duration
			for b.Loop() {
				timed(&theirs, func() { ffmpeg(b, "-i", path, "-map", "0:v", "-f", "null", "-") })
				timed(&ours, func() {
					take, err := Open(context.Background(), path)
					require.NoError(b, err)
					require.NoError(b, take.Stream(context.Background(), 0, func(f *Frame) error {
						look(f)
						return nil
					}))
					require.NoError(b, take.Close())
				})
			}
			b.ReportMetric(float64(ours)/float64(theirs), "of-ffmpeg")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// BenchmarkMemory4K measures the peak memory of a child process that reads one frame of a 4K clip with
// its colours, and of one that streams the clip.
func BenchmarkMemory4K(b *testing.B) {
	for _, c := range []struct {
		name string
		args []string
	}{
		{"h264.mp4", x264("threads=0:keyint=30:bframes=2", "-b:v", "50M")},
		{"hevc10.mp4", []string{"-c:v", "libx265", "-preset", "ultrafast", "-x265-params", "log-level=none:keyint=30", "-pix_fmt", "yuv420p10"}},
	} {
		for _, what := range []string{"frame", "stream"} {
			b.Run(c.name+" "+what, func(b *testing.B) {
				path := benchClip(b, "4k-"+c.name, "3840x2160", 30, 2, c.args...)
				peak := 0
				for b.Loop() {
					cmd := exec.Command(os.Args[0])
					cmd.Env = append(os.Environ(), childPath+"="+path, childDoes+"="+what)
					out, err := cmd.CombinedOutput()
					require.NoError(b, err, string(out))
					kb := 0
					_, err = fmt.Sscanf(string(out), "VmHWM: %d kB", &kb)
					require.NoError(b, err, string(out))
					peak = max(peak, kb)
				}
				b.ReportMetric(float64(peak)/1024, "MB-peak")
			})
		}
	}
}

// The environment variables that tell the child process of BenchmarkMemory4K what to read.
const childPath, childDoes = "ECART_TAKE_BENCH_PATH", "ECART_TAKE_BENCH_DOES"

func TestMain(m *testing.M) {
	if path := os.Getenv(openAlone); path != "" {
		openedAlone(path)
		return
	}
	if path := os.Getenv(childPath); path != "" {
		if err := child(path, os.Getenv(childDoes)); err != nil {
			panic(err)
		}
		return
	}
	m.Run()
}

func child(path, does string) error {
	take, err := Open(context.Background(), path)
	if err != nil {
		return err
	}
	defer take.Close()
	if does == "stream" {
		window := image.NewRGBA(image.Rect(100, 100, 200, 200))
		err = take.Stream(context.Background(), 0, func(f *Frame) error {
			f.Fill(window)
			return nil
		})
	} else {
		var f *Frame
		if f, err = take.Frame(context.Background(), take.Info().Frames*2/3); err == nil {
			f.Image()
		}
	}
	if err != nil {
		return err
	}
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return err
	}
	for line := range strings.Lines(string(status)) {
		if strings.HasPrefix(line, "VmHWM:") {
			fmt.Print(line)
		}
	}
	return nil
}
