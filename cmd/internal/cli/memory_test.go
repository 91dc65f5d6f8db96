package cli

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/draw"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/trial/needs"
	"ecart/vision/pose/model"
	"ecart/vision/take"
)

// mostMemory is what any command may take for any file, in bytes.
const mostMemory = 600_000_000

// peakMemory runs the program in dir and returns its largest resident size, in bytes. It is asked of
// /proc while the program runs: what the system says of it afterwards is never less than what the
// process that started it took.
func peakMemory(t *testing.T, dir string, args ...string) int64 {
	t.Helper()
	c := ecart(dir, args...)
	var out bytes.Buffer
	c.Stdout, c.Stderr = &out, &out
	require.NoError(t, c.Start())
	ended := make(chan error, 1)
	go func() { ended <- c.Wait() }()
	peak := int64(0)
	for {
		select {
		case err := <-ended:
			require.NoError(t, err, "%s", out.String())
			require.NotZero(t, peak, "the program was not seen running")
			t.Logf("%d MB: %v", peak/1_000_000, args)
			return peak
		case <-time.After(5 * time.Millisecond):
			data, _ := os.ReadFile(fmt.Sprintf("/proc/%d/status", c.Process.Pid))
			if _, after, ok := strings.Cut(string(data), "VmHWM:"); ok {
				var kB int64
				fmt.Sscan(after, &kB)
				peak = max(peak, 1024*kB)
			}
		}
	}
}

// largeJPEG writes a still of w by h pixels, and marks on it with a level.
func largeJPEG(t *testing.T, dir string, w, h int) {
	img := image.NewYCbCr(image.Rect(0, 0, w, h), image.YCbCrSubsampleRatio420)
	for i := range img.Y {
		img.Y[i] = uint8(i/w/64^i%w/64) | 64
	}
	for i := range img.Cb {
		img.Cb[i], img.Cr[i] = 120, 130
	}
	f, err := os.Create(filepath.Join(dir, "large.jpg"))
	require.NoError(t, err)
	defer f.Close()
	require.NoError(t, jpeg.Encode(f, img, &jpeg.Options{Quality: 50}))
	splitMarks(t, dir, w, h)
}

// splitMarks writes marks of a split, with a level, on a still of w by h pixels.
func splitMarks(t *testing.T, dir string, w, h int) {
	marks := fmt.Sprintf(`{"schema": "ecart/marks/1", "frame": 0, "facing": "right", "level": [[%d, %d], [%d, %d]], "marks": [
  {"landmark": "hip", "x": %d, "y": %d}, {"landmark": "front-ankle", "x": %d, "y": %d}, {"landmark": "back-ankle", "x": %d, "y": %d}]}`,
		w/10, h*9/10, w*9/10, h*11/12, w/2, h/2, w*7/10, h*6/10, w*3/10, h*6/10)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "marks.json"), []byte(marks), 0o600))
}

// TestMemoryOfLargeStills: the picture of a still of 108 million pixels is drawn, and turned, without
// all of its colours in memory.
func TestMemoryOfLargeStills(t *testing.T) {
	dir := t.TempDir()
	largeJPEG(t, dir, 12000, 9000)
	assert.Less(t, peakMemory(t, dir, "read", "large.jpg", "--marks", "marks.json", "--measure", "hip-split", "--figure", "out.png"), int64(mostMemory))
	assert.Less(t, peakMemory(t, dir, "sheet", "reading", "marks.json", "--take", "large.jpg", "--measure", "hip-split", "--out", "out.html"), int64(mostMemory))
}

// TestMemoryBesideTheNetwork: ecart and the program that runs the network beside it together stay below what a command
// may take, with a still of 37 megapixels.
func TestMemoryBesideTheNetwork(t *testing.T) {
	t.Setenv(model.Variable, needs.PoseNetwork(t))
	dir := t.TempDir()
	clip, _ := demotake.Files()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "leap.mp4"), clip, 0o600))
	tk, err := take.Open(t.Context(), filepath.Join(dir, "leap.mp4"))
	require.NoError(t, err)
	defer tk.Close()
	frame, err := tk.Frame(t.Context(), 43)
	require.NoError(t, err)
	small := frame.Image()
	img := image.NewRGBA(image.Rect(0, 0, 8192, 8192*small.Rect.Dy()/small.Rect.Dx()))
	draw.NearestNeighbor.Scale(img, img.Rect, small, small.Rect, draw.Src, nil)
	f, err := os.Create(filepath.Join(dir, "large.jpg"))
	require.NoError(t, err)
	require.NoError(t, jpeg.Encode(f, img, nil))
	require.NoError(t, f.Close())
	peak := peakMemory(t, dir, "propose", "large.jpg", "--measure", "hip-split", "--out", "marks.json", "--figure", "out.png")
	assert.Less(t, peak+230_000_000, int64(mostMemory), "ecart-see takes 230 MB beside")
}
