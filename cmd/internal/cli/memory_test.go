package cli

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/jpeg"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ecart/cmd/internal/demotake"
	"ecart/cmd/internal/trial/needs"
	"ecart/vision/pose/model"
	"ecart/vision/take"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/draw"
)

// mostMemory is how much any command may take for any file, in bytes.
const mostMemory = 600_000_000

// peakMemory runs the program in dir and returns its largest resident size, in bytes. It is read from
// /proc while the program runs: the system's figure afterwards is never less than the size of the
// process that started it.
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

// TestMemoryOfLargeStills draws and rotates the picture of a still of 108 million pixels without
// all of its colours in memory.
func TestMemoryOfLargeStills(t *testing.T) {
	dir := t.TempDir()
	largeJPEG(t, dir, 12000, 9000)
	assert.Less(t, peakMemory(t, dir, "read", "large.jpg", "--marks", "marks.json", "--measure", "hip-split", "--figure", "out.png"), int64(mostMemory))
	assert.Less(t, peakMemory(t, dir, "sheet", "reading", "marks.json", "--take", "large.jpg", "--measure", "hip-split", "--out", "out.html"), int64(mostMemory))
}

// TestMemoryBesideTheNetwork checks that ecart and the program that runs the network together take no more than a command
// may, with a still of 37 megapixels.
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

// deepPNG returns a black PNG of w by h pixels, RGBA of 16 bits, which takes 8 bytes a pixel to decode.
func deepPNG(t *testing.T, w, h int) []byte {
	out := bytes.NewBufferString("\x89PNG\r\n\x1a\n")
	chunk := func(name string, body []byte) {
		whole := append([]byte(name), body...)
		binary.Write(out, binary.BigEndian, uint32(len(body)))
		out.Write(whole)
		binary.Write(out, binary.BigEndian, crc32.ChecksumIEEE(whole))
	}
	chunk("IHDR", append(binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, uint32(w)), uint32(h)), 16, 6, 0, 0, 0))
	var data bytes.Buffer
	z := zlib.NewWriter(&data)
	row := make([]byte, 1+8*w)
	for range h {
		_, err := z.Write(row)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	chunk("IDAT", data.Bytes())
	chunk("IEND", nil)
	return out.Bytes()
}

// progressiveJPEG returns a grey progressive JPEG (ITU-T T.81) of w by h pixels with chroma of half the size, which
// takes 7.5 bytes a pixel to decode. It has one scan, in which each block's first coefficient takes one bit.
func progressiveJPEG(w, h int) []byte {
	var out []byte
	segment := func(marker byte, body ...byte) {
		out = append(binary.BigEndian.AppendUint16(append(out, 0xff, marker), uint16(len(body)+2)), body...)
	}
	out = append(out, 0xff, 0xd8)
	segment(0xdb, append([]byte{0}, bytes.Repeat([]byte{1}, 64)...)...)
	segment(0xc2, 8, byte(h>>8), byte(h), byte(w>>8), byte(w), 3, 1, 0x22, 0, 2, 0x11, 0, 3, 0x11, 0)
	segment(0xc4, append([]byte{0, 1}, make([]byte, 16)...)...)
	segment(0xda, 3, 1, 0, 2, 0, 3, 0, 0, 0, 0)
	blocks := (w + 15) / 16 * ((h + 15) / 16) * 6
	return append(append(out, make([]byte, (blocks+7)/8)...), 0xff, 0xd9)
}

// TestMemoryOfLargestStills checks that the stills that take the most memory to decode leave room
// for the program and a figure.
func TestMemoryOfLargestStills(t *testing.T) {
	for _, c := range []struct {
		name string
		w, h int
		data []byte
	}{
		{"deep.png", 7330, 7330, deepPNG(t, 7330, 7330)},
		{"progressive.jpg", 8640, 6560, progressiveJPEG(8640, 6560)},
	} {
		dir := t.TempDir()
		splitMarks(t, dir, c.w, c.h)
		require.NoError(t, os.WriteFile(filepath.Join(dir, c.name), c.data, 0o600))
		assert.Less(t, peakMemory(t, dir, "read", c.name, "--marks", "marks.json", "--measure", "hip-split", "--figure", "out.png"), int64(mostMemory))
		assert.Less(t, peakMemory(t, dir, "sheet", "reading", "marks.json", "--take", c.name, "--measure", "hip-split", "--out", "out.html"), int64(mostMemory))
	}
}
