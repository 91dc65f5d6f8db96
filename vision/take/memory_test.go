package take

import (
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// openAlone is the environment variable that names the file for a child process to open.
const openAlone = "ECART_TEST_OPEN_ALONE"

// openedAlone runs in the child process. It opens the file and prints its own largest resident size in bytes
// (VmHWM, which counts from the start of this process) and the outcome.
func openedAlone(path string) {
	said := ""
	if t, err := Open(context.Background(), path); err != nil {
		said = "refused: " + err.Error()
	} else {
		said = "read: " + t.Info().Codec
	}
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		panic(err)
	}
	var kB int64
	_, after, _ := strings.Cut(string(status), "VmHWM:")
	fmt.Sscan(after, &kB)
	fmt.Printf("%d %s", kB<<10, said)
}

// peakOf opens a still or a clip in a child process and returns the outcome and the memory for the file, in bytes:
// the process's peak less that for a still of 64 pixels. The difference excludes the program itself, which is
// larger here than the command, since the tests link OpenCV too.
func peakOf(t testing.TB, path string) (string, int64) {
	alone := func(path string) (string, int64) {
		c := exec.Command(os.Args[0])
		c.Env = append(os.Environ(), openAlone+"="+path)
		out, err := c.CombinedOutput()
		require.NoError(t, err, "%s", out)
		bytes, said, _ := strings.Cut(string(out), " ")
		peak, err := strconv.ParseInt(bytes, 10, 64)
		require.NoError(t, err, "%s", out)
		return said, peak
	}
	_, program := alone(onePNG(t, 8, 8, 8, 2, 0, 24, false))
	said, peak := alone(path)
	return said, peak - program
}

// onePNG writes a PNG of one colour. depth, kind (colour type) and interlaced are those of ISO/IEC 15948 11.2.2,
// bits is the size of a pixel, and transparent adds a tRNS chunk.
func onePNG(t testing.TB, w, h int, depth, kind, interlaced byte, bits int, transparent bool) string {
	var b bytes.Buffer
	chunk := func(name string, body []byte) {
		binary.Write(&b, binary.BigEndian, uint32(len(body)))
		whole := append([]byte(name), body...)
		b.Write(whole)
		binary.Write(&b, binary.BigEndian, crc32.ChecksumIEEE(whole))
	}
	b.WriteString("\x89PNG\r\n\x1a\n")
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, uint32(w)), uint32(h))
	chunk("IHDR", append(head, depth, kind, 0, 0, interlaced))
	if transparent {
		chunk("tRNS", []byte{0, 0})
	}
	var data bytes.Buffer
	z, err := zlib.NewWriterLevel(&data, zlib.BestSpeed)
	require.NoError(t, err)
	_, err = io.CopyN(z, zeros{}, int64(h)*int64(1+(w*bits+7)/8))
	require.NoError(t, err)
	require.NoError(t, z.Close())
	chunk("IDAT", data.Bytes())
	chunk("IEND", nil)
	path := filepath.Join(t.TempDir(), "one.png")
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o600))
	return path
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// TestMemoryOfStills: no still takes more than stillMemory, whatever size it declares; larger ones are refused
// with name and size.
func TestMemoryOfStills(t *testing.T) {
	bomb := append([]byte("RIFF\x1a\x00\x00\x00WEBPVP8L\x0d\x00\x00\x00\x2f"), 0xff, 0xf8, 0x34, 0x0c, 0, 0, 0, 0, 0)
	for _, c := range []struct{ name, path, want string }{
		{"grey, 1 bit, 200 million pixels", onePNG(t, 16000, 12500, 1, 0, 0, 1, false), "read: png"},
		{"transparent grey, 1 bit, 200 million pixels", onePNG(t, 16000, 12500, 1, 0, 0, 1, true), "refused: \"one.png\" is too large: a png of 16000 by 12500"},
		{"RGBA, 16 bits, 200 million pixels", write(t, "deep.png", resizePNG(deepPNGFile(t), 16000, 12500)), "refused: \"deep.png\" is too large"},
		{"RGB, 48 million pixels", onePNG(t, 8000, 6000, 8, 2, 0, 24, false), "read: png"},
		{"RGBA, 16 bits, 48 million pixels", onePNG(t, 8000, 6000, 16, 6, 0, 64, false), "read: png"},
		{"RGB, interlaced header, 100 million pixels", onePNG(t, 10000, 10000, 8, 2, 1, 24, false), "refused: \"one.png\" is too large"},
		{"WebP of 34 bytes", write(t, "bomb.webp", bomb), "refused: "},
	} {
		t.Run(c.name, func(t *testing.T) {
			said, peak := peakOf(t, c.path)
			t.Logf("%d MB: %s", peak/1_000_000, said)
			assert.True(t, strings.HasPrefix(said, c.want), said)
			assert.Less(t, peak, int64(stillMemory))
		})
	}
}

// deepPNGFile is a small PNG of 16 bits a sample.
func deepPNGFile(t testing.TB) []byte {
	data, err := os.ReadFile(onePNG(t, 8, 8, 16, 6, 0, 64, false))
	require.NoError(t, err)
	return data
}

// TestJPEGMemory: the memory of a JPEG is estimated from its frame header alone.
func TestJPEGMemory(t *testing.T) {
	file := func(marker byte, w, h int, parts string) *io.SectionReader {
		n := 8 + len(parts)
		b := append([]byte{0xff, 0xd8, 0xff, marker, 0, byte(n), 8, byte(h >> 8), byte(h), byte(w >> 8), byte(w), byte(len(parts) / 3)}, parts+"\xff\xda\x00\x02"...)
		return io.NewSectionReader(bytes.NewReader(b), 0, int64(len(b)))
	}
	const full, half = "\x01\x11\x00\x02\x11\x00\x03\x11\x00", "\x01\x22\x00\x02\x11\x00\x03\x11\x00"
	for _, c := range []struct {
		name  string
		data  *io.SectionReader
		each  float64 // bytes a pixel
		large bool
	}{
		{"108 million pixels, 4:2:0", file(0xc0, 12000, 9000, half), 1.5, false},
		{"108 million pixels, progressive 4:2:0", file(0xc2, 12000, 9000, half), 7.5, true},
		{"50 million pixels, progressive 4:2:0", file(0xc2, 8160, 6120, half), 7.5, false},
		{"200 million pixels, progressive 4:4:4", file(0xc2, 16000, 12500, full), 15, true},
		{"48 million pixels, CMYK", file(0xc0, 8000, 6000, full+"\x04\x11\x00"), 12, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			h, err := readHeader(jpegKind, c.data)
			require.NoError(t, err)
			assert.InDelta(t, c.each, float64(h.memory)/float64(h.config.Width*h.config.Height), 0.01)
			err = checkMemory("a.jpg", jpegKind, h.config, h.memory)
			require.Equal(t, c.large, err != nil, "%d bytes", h.memory)
			if err != nil {
				requireWords(t, err, "a.jpg")
			}
		})
	}
}

// TestMemoryOfClips: a clip is refused if one picture is too large or too many reference pictures are held at a
// time. A clip with large pictures that stays within the memory is read.
func TestMemoryOfClips(t *testing.T) {
	file := func(name, size string, more ...string) string {
		path := filepath.Join(t.TempDir(), name)
		ffmpegFed(t, nil, append(append([]string{"-f", "lavfi", "-i", "color=c=gray:r=25:s=" + size}, more...), "-pix_fmt", "yuv420p", path)...)
		return path
	}
	for _, c := range []struct{ name, path, want string }{
		{"one picture of 192 million pixels", file("a.avi", "16000x12000", "-frames:v", "1", "-c:v", "mjpeg", "-strict", "-1"), "refused: \"a.avi\" is too large: decoding its pictures of 16000 by 12000 pixels"},
		{"one picture of 33 million pixels", file("b.avi", "7680x4320", "-frames:v", "1", "-c:v", "mjpeg", "-strict", "-1"), "read: mjpeg"},
	} {
		t.Run(c.name, func(t *testing.T) {
			said, peak := peakOf(t, c.path)
			t.Logf("%d MB: %s", peak/1_000_000, said)
			assert.True(t, strings.HasPrefix(said, c.want), said)
			assert.Less(t, peak, int64(stillMemory))
		})
	}
	// 16 reference pictures of 24 million pixels, 53 MB each with its motion vectors
	many, err := Open(t.Context(), file("many.mp4", "5632x4224", "-frames:v", "14", "-c:v", "libx264", "-preset", "ultrafast", "-x264-params", "ref=16:level=62:bframes=0:keyint=100", "-threads", "2"))
	require.NoError(t, err)
	defer many.Close()
	_, err = many.Frame(t.Context(), 3)
	require.NoError(t, err)
	_, err = many.Frame(t.Context(), 13)
	requireWords(t, err, "5632 by 4224 pixels takes more than 480 MB")
	require.NotContains(t, err.Error(), "damaged")
	_, err = many.Frame(t.Context(), 3)
	require.NoError(t, err, "a frame that was read before can be read again")
}

// TestStillBytes: StillBytes equals the size of the decoded samples.
func TestStillBytes(t *testing.T) {
	const w, h = 800, 600
	for _, c := range []struct {
		depth, kind byte
		bits        int
		each        int64
	}{{8, 2, 24, 4}, {8, 0, 8, 1}, {16, 0, 16, 2}, {16, 2, 48, 8}, {16, 6, 64, 8}} {
		take, err := Open(t.Context(), onePNG(t, w, h, c.depth, c.kind, 0, c.bits, false))
		require.NoError(t, err)
		assert.Equal(t, c.each*w*h, take.StillBytes(), "colour type %d, %d bits", c.kind, c.depth)
		require.NoError(t, take.Close())
	}
}
