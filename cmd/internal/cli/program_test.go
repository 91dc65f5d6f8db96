package cli

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/trial/scene"
)

// ecart returns the program, to be run in a process of its own in dir.
func ecart(dir string, args ...string) *exec.Cmd {
	c := exec.Command(os.Args[0], args...)
	c.Dir = dir
	c.Env = append(os.Environ(), asProgram+"=1", "TMPDIR="+dir)
	return c
}

// listed returns the names of all that is in a folder.
func listed(t *testing.T, dir string) []string {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

// longClip returns a clip whose last frame is far from its only key frame, the first, so that
// decoding it takes a while.
func longClip(t *testing.T, path string) (last string) {
	out, err := exec.Command("ffmpeg", "-v", "error", "-f", "lavfi", "-i", "testsrc2=s=640x360:r=60:d=20",
		"-c:v", "libx264", "-preset", "ultrafast", "-g", "5000", "-keyint_min", "5000", "-sc_threshold", "0", "-bf", "0", "-pix_fmt", "yuv420p", path).CombinedOutput()
	require.NoError(t, err, "ffmpeg: %s", out)
	return "1199"
}

const threeMarks = `{"schema": "ecart/marks/1", "frame": 0, "marks": [
  {"landmark": "hip", "x": 320, "y": 100}, {"landmark": "front-ankle", "x": 450, "y": 110}, {"landmark": "back-ankle", "x": 190, "y": 110}]}`

// TestStopped sends the signal of Ctrl-C once work is under way, which the note
// about --at shows: it is printed before the frame is decoded.
func TestStopped(t *testing.T) {
	dir := t.TempDir()
	last := longClip(t, filepath.Join(dir, "long.mp4"))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "marks.json"), []byte(threeMarks), 0o600))
	before := listed(t, dir)
	for _, signal := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		t.Run(signal.String(), func(t *testing.T) {
			c := ecart(dir, "read", "long.mp4", "--marks", "marks.json", "--measure", "hip-split", "--at", last, "--figure", "out.png")
			var out bytes.Buffer
			c.Stdout = &out
			errs, err := c.StderrPipe()
			require.NoError(t, err)
			require.NoError(t, c.Start())
			lines := bufio.NewScanner(errs)
			require.True(t, lines.Scan())
			require.Contains(t, lines.Text(), "as --at asks")
			require.NoError(t, c.Process.Signal(signal))
			var said []string
			for lines.Scan() {
				said = append(said, lines.Text())
			}
			err = c.Wait()

			var exited *exec.ExitError
			require.ErrorAs(t, err, &exited)
			assert.Equal(t, exitFailed, exited.ExitCode())
			assert.Len(t, said, 2, said)
			assert.Empty(t, out.String())
			assert.Equal(t, before, listed(t, dir))
		})
	}
}

// TestStoppedBeforeIt runs each command in a context that has ended.
func TestStoppedBeforeIt(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	clip, marks := demotake.Files()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "leap.mp4"), clip, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "marks.json"), marks, 0o600))
	before := listed(t, dir)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	for _, args := range [][]string{
		{"demo", "--figure", dir + "/out.png", "--leave", dir + "/kept"},
		{"read", dir + "/leap.mp4", "--marks", dir + "/marks.json", "--measure", "hip-split", "--figure", dir + "/out.png"},
	} {
		var out, errs bytes.Buffer
		root := newRoot(terminal.Streams{In: strings.NewReader(""), Out: &out, Err: &errs})
		root.SetArgs(args)
		assert.ErrorIs(t, root.ExecuteContext(ctx), context.Canceled, args)
		assert.Empty(t, out.String(), args)
		assert.Equal(t, before, listed(t, dir), args)
	}
}

// TestDemoHoldsTheTruth compares the demo's reading with the angle in which the
// athlete was drawn, which shares no code with the measurement.
func TestDemoHoldsTheTruth(t *testing.T) {
	dir := t.TempDir()
	out, err := ecart(dir, "demo", "--json").Output()
	require.NoError(t, err)
	var r reading.Reading
	require.NoError(t, json.Unmarshal(out, &r))
	s, err := scene.Named("leap")
	require.NoError(t, err)
	truth := s.Truth(r.Take.Frame).Angles["hip-split"]
	assert.Greater(t, truth, r.IntervalDeg[0])
	assert.Less(t, truth, r.IntervalDeg[1])
	assert.Equal(t, s.PeakFrame(), r.Take.Frame, "it is the frame of the widest split")
}

// TestObliqueHoldsTheTruth reads a split of 150 degrees as a camera 20 degrees
// off to the side shows it: legs b below level are seen b' below it, where
// tan b' = tan b / cos 20 (orthographic), so that the picture says 148.2.
func TestObliqueHoldsTheTruth(t *testing.T) {
	const (
		truth, shown = 150, 148.2
		rounded      = 0.05 // of the figure shown above
		leg          = 300  // px
	)
	below := math.Atan(math.Tan((180-truth)/2*math.Pi/180) / math.Cos(20*math.Pi/180))
	dx, dy := leg*math.Cos(below), leg*math.Sin(below)
	dir := t.TempDir()
	var picture bytes.Buffer
	require.NoError(t, png.Encode(&picture, image.NewGray(image.Rect(0, 0, 1280, 720))))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "still.png"), picture.Bytes(), 0o600))
	marks := fmt.Sprintf(`{"schema": "ecart/marks/1", "marks": [{"landmark": "hip", "x": 640, "y": 300},
		{"landmark": "front-ankle", "x": %v, "y": %v}, {"landmark": "back-ankle", "x": %v, "y": %v}]}`, 640+dx, 300+dy, 640-dx, 300+dy)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "marks.json"), []byte(marks), 0o600))
	read := func(oblique string) (r reading.Reading) {
		out, err := ecart(dir, "read", "still.png", "--marks", "marks.json", "--measure", "hip-split", "--oblique", oblique, "--json").Output()
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(out, &r))
		return r
	}
	wide, narrow := read("20"), read("3")
	assert.InDelta(t, shown, wide.PictureAngleDeg, rounded)
	assert.Less(t, wide.IntervalDeg[0], float64(truth))
	assert.Greater(t, wide.IntervalDeg[1], float64(truth))
	assert.Greater(t, wide.ExpandedUncertaintyDeg, narrow.ExpandedUncertaintyDeg)
}

// taggedClip returns a clip of ten seconds in which a red tag swings before grey.
func taggedClip(t *testing.T, path string) {
	out, err := exec.Command("ffmpeg", "-v", "error", "-f", "lavfi", "-i", "color=0x8a8a86:s=480x270:r=60:d=20", "-f", "lavfi", "-i", "color=0xd02020:s=22x22:r=60:d=20",
		"-filter_complex", "overlay=x=220+150*sin(2*t):y=120:shortest=1", "-c:v", "libx264", "-preset", "ultrafast", "-crf", "20", "-pix_fmt", "yuv420p", path).CombinedOutput()
	require.NoError(t, err, "ffmpeg: %s", out)
}

// After SIGKILL the frames followed until then are in a table that can be read.
func TestKilledWhileFollowing(t *testing.T) {
	dir := t.TempDir()
	taggedClip(t, filepath.Join(dir, "tag.mp4"))
	c := ecart(dir, "follow", "tag.mp4", "--points", "wrist=231,131@0", "--csv", "tag.csv", "--clip", "drawn.mp4")
	require.NoError(t, c.Start())
	part := filepath.Join(dir, "tag.part.csv")
	rows := 0
	for end := time.Now().Add(time.Minute); rows < 20 && time.Now().Before(end); time.Sleep(2 * time.Millisecond) {
		data, _ := os.ReadFile(part)
		rows = bytes.Count(data, []byte("\n")) - 1
	}
	require.GreaterOrEqual(t, rows, 20)
	require.NoError(t, c.Process.Kill())
	_ = c.Wait()
	assert.NoFileExists(t, filepath.Join(dir, "tag.csv"))
	data, err := os.ReadFile(part)
	require.NoError(t, err)
	track, err := reading.ParseTrack("tag.part.csv", data)
	require.NoError(t, err)
	assert.Less(t, len(track.Frames), 1200, "it was not done")
	for _, f := range track.Frames[:20] {
		// ffmpeg's overlay rounds down to even pixels in 4:2:0
		left := 2 * math.Floor((220+150*math.Sin(2*f.TimeS))/2)
		assert.InDelta(t, left+10.5, f.Marks[0].X, 1, "frame %d", f.Frame)
	}
	// a second run replaces the part of the one that was killed
	out, err := ecart(dir, "follow", "tag.mp4", "--points", "wrist=231,131@0", "--csv", "tag.csv").CombinedOutput()
	require.NoError(t, err, "%s", out)
	assert.NoFileExists(t, part)
	assert.FileExists(t, filepath.Join(dir, "tag.csv"))
}
