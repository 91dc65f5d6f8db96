package cli

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// deepPNG is a black PNG of w by h pixels, RGBA of 16 bits, which takes 8 bytes a pixel to decode.
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

// progressiveJPEG is a grey progressive JPEG (ITU-T T.81) of w by h pixels with chroma of half the size, which
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

// TestMemoryOfLargestStills: the stills that take the most memory to decode of all that are read leave room
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
