package cli

import (
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/reading"
	"ecart/geometry"
)

// pairs is how often the two sides of a comparison run, one after the other;
// the median of each counts.
const pairs = 7

// built returns the program as it is released, built once for all benchmarks.
func built(b *testing.B) string {
	bin := filepath.Join(b.TempDir(), "ecart")
	out, err := exec.Command("go", "build", "-trimpath", "-o", bin, "ecart/cmd/ecart").CombinedOutput()
	require.NoError(b, err, "%s", out)
	return bin
}

// benchClip returns a clip made by ffmpeg, kept in the repository's .cache: a
// pattern that moves, H.264 as a phone codes it (High profile, B-frames, several
// reference pictures, a key frame at most every 250 frames).
func benchClip(b *testing.B, name, size, seconds, filter string) string {
	dir, err := filepath.Abs(filepath.Join("..", "..", "..", ".cache", "bench"))
	require.NoError(b, err)
	require.NoError(b, os.MkdirAll(dir, 0o777))
	path := filepath.Join(dir, name)
	if _, err := os.Stat(path); err == nil {
		return path
	}
	part := filepath.Join(dir, "part-"+name)
	out, err := exec.Command("ffmpeg", "-v", "error", "-y",
		"-f", "lavfi", "-i", "testsrc2=s="+size+":r=60:d="+seconds, "-vf", filter,
		"-c:v", "libx264", "-preset", "veryfast", "-refs", "4", "-crf", "23", "-profile:v", "high", "-bf", "2", "-g", "250", "-pix_fmt", "yuv420p", part).CombinedOutput()
	require.NoError(b, err, "%s", out)
	require.NoError(b, os.Rename(part, path))
	return path
}

func benchMarks(b *testing.B) string {
	path := filepath.Join(b.TempDir(), "marks.json")
	require.NoError(b, os.WriteFile(path, []byte(threeMarks), 0o600))
	return path
}

// timed runs a command and returns its wall time and its peak memory in bytes.
func timed(b *testing.B, dir, name string, args ...string) (time.Duration, int64) {
	c := exec.Command(name, args...)
	c.Dir = dir
	start := time.Now()
	out, err := c.CombinedOutput()
	wall := time.Since(start)
	require.NoError(b, err, "%s", out)
	rss := c.ProcessState.SysUsage().(*syscall.Rusage).Maxrss
	if runtime.GOOS == "linux" {
		rss *= 1024 // in kilobytes there
	}
	return wall, rss
}

// processors returns the processor time of this process.
func processors(b *testing.B) time.Duration {
	var u syscall.Rusage
	require.NoError(b, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func median(d []time.Duration) time.Duration {
	d = slices.Clone(d)
	slices.Sort(d)
	return d[len(d)/2]
}

// BenchmarkReadFrame is 'ecart read' on one frame of a clip of 1080p60, beside
// ffmpeg decoding the clip up to that frame to nothing, each a process from its
// start to its end, and 'ecart --version', which is the start alone. The ratio
// is read / (ffmpeg + start): at most 1.3 is wanted. Frame 300 is 50 behind a
// key frame, from which it is reached; frame 249 is as far from one as can be,
// and everything before it has to be decoded.
func BenchmarkReadFrame(b *testing.B) {
	bin, marks := built(b), benchMarks(b)
	clip := benchClip(b, "1080p60.mp4", "1920x1080", "6", "noise=alls=12:allf=t,rotate=0.02*sin(3*t)")
	for _, frame := range []int{300, 249} {
		b.Run(strconv.Itoa(frame), func(b *testing.B) {
			var read, decode, start []time.Duration
			for b.Loop() {
				for range pairs {
					t, _ := timed(b, ".", bin, "read", clip, "--marks", marks, "--at", strconv.Itoa(frame), "--measure", "hip-split")
					read = append(read, t)
					t, _ = timed(b, ".", "ffmpeg", "-v", "error", "-nostdin", "-i", clip, "-frames:v", strconv.Itoa(frame+1), "-f", "null", "-")
					decode = append(decode, t)
					t, _ = timed(b, ".", bin, "--version")
					start = append(start, t)
				}
			}
			b.ReportMetric(float64(median(read).Milliseconds()), "read-ms")
			b.ReportMetric(float64(median(decode).Milliseconds()), "ffmpeg-ms")
			b.ReportMetric(float64(median(start).Milliseconds()), "start-ms")
			b.ReportMetric(float64(median(read))/float64(median(decode)+median(start)), "ratio(max:1.3)")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// BenchmarkRead4K is the peak memory of 'ecart read' on a clip of 3840 by 2160, without and
// with a figure: the goal is under 400 MB.
func BenchmarkRead4K(b *testing.B) {
	bin, marks := built(b), benchMarks(b)
	clip := benchClip(b, "2160p60.mp4", "3840x2160", "1", "null")
	dir := b.TempDir()
	var plain, drawn int64
	for b.Loop() {
		args := []string{"read", clip, "--marks", marks, "--at", "50", "--measure", "hip-split"}
		_, plain = timed(b, dir, bin, args...)
		_, drawn = timed(b, dir, bin, append(args, "--figure", "out.png")...)
	}
	const mb = 1e6
	b.ReportMetric(float64(plain)/mb, "MB(max:400)")
	b.ReportMetric(float64(drawn)/mb, "MB-with-figure")
	b.ReportMetric(0, "ns/op")
}

// BenchmarkDemo is 'ecart demo' from its start to its end: the goal is under 3 s.
func BenchmarkDemo(b *testing.B) {
	bin, dir := built(b), b.TempDir()
	var walls []time.Duration
	for b.Loop() {
		for range pairs {
			t, _ := timed(b, dir, bin, "demo")
			walls = append(walls, t)
		}
	}
	b.ReportMetric(median(walls).Seconds(), "s(max:3)")
	b.ReportMetric(0, "ns/op")
}

// BenchmarkReading is a reading in the default setting, the demo's, once its
// frame is decoded: the goal is under 50 ms. It also reports the processor time,
// which other work on the machine does not lengthen as much.
func BenchmarkReading(b *testing.B) {
	_, text := demotake.Files()
	marks, err := reading.ParseMarks("leap.marks.json", text)
	require.NoError(b, err)
	lib, err := desk.New(desk.Options{}).Library()
	require.NoError(b, err)
	skill, err := lib.Find("fig-women/split-leap")
	require.NoError(b, err)
	measure, ok := geometry.Lookup("hip-split")
	require.True(b, ok)
	var walls []time.Duration
	draws := 0
	before := processors(b)
	for b.Loop() {
		for range pairs {
			start := time.Now()
			r, err := reading.Read(reading.Request{Take: reading.Take{WidthPx: 1920, HeightPx: 1080}, Marks: marks, Measure: measure, Skill: &skill, Seed: 1})
			walls = append(walls, time.Since(start))
			require.NoError(b, err)
			draws = r.Draws
		}
	}
	b.ReportMetric(float64(median(walls).Microseconds())/1000, "ms(max:50)")
	b.ReportMetric((processors(b)-before).Seconds()*1000/float64(len(walls)), "processor-ms")
	b.ReportMetric(float64(draws), "draws")
	b.ReportMetric(0, "ns/op")
}
