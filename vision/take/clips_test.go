package take

import (
	"image"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// The clips of these tests are encoded by the ffmpeg program from pictures that each show their
// own number: twelve blocks, six a row, black or white for the bits of the number, and below them
// twelve more with the bits inverted. The blocks survive compression, so that the number can be
// read from a decoded picture.
const (
	clipW, clipH = 176, 144
	block        = 24 // pixels
	blockBits    = 12
)

// rendered returns n numbered pictures of w by h as yuv420p. Their background is a sliding ramp with a
// little noise, so that encoders predict from other frames.
func rendered(n, w, h int) []byte {
	size := w*h + 2*((w+1)/2)*((h+1)/2)
	out := make([]byte, 0, n*size)
	grain := uint32(1)
	for i := range n {
		pic := make([]byte, size)
		for y := range h {
			for x := range w {
				grain = grain*1664525 + 1013904223
				pic[y*w+x] = byte(40 + (x+y+2*i)%160 + int(grain>>29))
			}
		}
		for j := w * h; j < size; j++ {
			pic[j] = byte(96 + (j+3*i)%64)
		}
		for b := range 2 * blockBits {
			v := byte(16)
			if i>>(b%blockBits)&1 == 1 != (b >= blockBits) {
				v = 235
			}
			r := blockAt(b)
			for y := r.Min.Y; y < r.Max.Y; y++ {
				for x := r.Min.X; x < r.Max.X; x++ {
					pic[y*w+x] = v
				}
			}
		}
		out = append(out, pic...)
	}
	return out
}

func blockAt(b int) image.Rectangle {
	x, y := 8+b%6*block, 8+b/6*block
	return image.Rect(x, y, x+block, y+block)
}

// readNumber reads the number shown in a frame, from small parts of it.
func readNumber(t testing.TB, f *Frame) int {
	n := 0
	for b := range 2 * blockBits {
		r := f.Region(blockAt(b).Inset(block / 4))
		sum := 0
		for i := 0; i < len(r.Pix); i += 4 {
			sum += int(r.Pix[i+1])
		}
		bit := sum/(len(r.Pix)/4) > 128
		if b < blockBits {
			if bit {
				n |= 1 << b
			}
			continue
		}
		require.NotEqual(t, n>>(b-blockBits)&1 == 1, bit, "frame %d does not carry a number", f.Index)
	}
	return n
}

// encode makes a clip of n numbered pictures with the given name, which decides the container.
func encode(t testing.TB, name string, n int, args ...string) string {
	t.Helper()
	return encodeSized(t, name, n, clipW, clipH, args...)
}

func encodeSized(t testing.TB, name string, n, w, h int, args ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	in := []string{"-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", strconv.Itoa(w) + "x" + strconv.Itoa(h), "-r", "30", "-i", "-"}
	ffmpegFed(t, rendered(n, w, h), append(append(in, args...), path)...)
	return path
}

// rewrite makes a file from another with some change to its bytes.
func rewrite(t testing.TB, path, name string, change func([]byte) []byte) string {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	out := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(out, change(data), 0o600))
	return out
}

// x264 returns ffmpeg's arguments for a quick H.264 encode with the given encoder parameters.
func x264(params string, more ...string) []string {
	return append([]string{"-c:v", "libx264", "-preset", "veryfast", "-x264-params", "threads=1:" + params}, more...)
}

// x265 is x264 for HEVC.
func x265(params string, more ...string) []string {
	return append([]string{"-c:v", "libx265", "-preset", "ultrafast", "-x265-params", "log-level=none:pools=1:" + params}, more...)
}
