package take

import (
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
	"io"
	"math"
	"runtime/debug"

	"golang.org/x/image/webp"
)

// stillMemory is the largest memory for decoding a still, in bytes. A command may take 600 MB in all: the program
// itself takes 60 to 80 MB, depending on the version of FFmpeg and what else is linked, and a figure made from the
// picture up to 85 MB. A JPEG of 108 million pixels takes 162 MB, a PNG of 16 bits a sample and 48 million pixels
// 384 MB.
const stillMemory = 430_000_000

// largeGarbage is the size in bytes above which a decoder's garbage is freed at once. Otherwise the garbage
// collector would wait until the heap has doubled.
const largeGarbage = 64 << 20

// freeGarbage returns unused memory to the system after a decoder has allocated the given number of bytes.
func freeGarbage(bytes int64) {
	if bytes > largeGarbage {
		debug.FreeOSMemory()
	}
}

// checkMemory refuses a still whose decoder would take more than stillMemory bytes.
func checkMemory(name string, k kind, cfg image.Config, bytes int64) error {
	if bytes <= stillMemory {
		return nil
	}
	scale := math.Sqrt(stillMemory / float64(bytes)) // memory is proportional to the number of pixels
	return newError(fmt.Sprintf("make it smaller, about %d by %d pixels, or save it as an ordinary JPEG (not progressive)", int(scale*float64(cfg.Width)), int(scale*float64(cfg.Height))),
		"%q is too large: a %s of %d by %d pixels that takes about %d MB of memory to read, and at most %d MB are taken",
		name, k, cfg.Width, cfg.Height, bytes/1_000_000, stillMemory/1_000_000)
}

// pngMemory estimates from the header what image/png takes, in bytes: the decoded picture,
// the same again for the passes of an interlaced picture, and four bytes a pixel for the colours of a palette.
func pngMemory(data io.ReaderAt, cfg image.Config) int64 {
	var head [29]byte // signature, length and name of IHDR, its first 13 bytes
	if _, err := data.ReadAt(head[:], 0); err != nil {
		return math.MaxInt64
	}
	const deep, grey, palette = 16, 0, 3
	depth, kind, interlaced := head[24], head[25], head[28] != 0
	n := int64(cfg.Width) * int64(cfg.Height)
	each := int64(4)
	switch {
	case kind == grey && !pngTransparent(data):
		each = 1
	case kind == palette:
		each = 1
	}
	if depth == deep {
		each *= 2
	}
	bytes := each * n
	if interlaced {
		bytes *= 2
	}
	if kind == palette {
		bytes += 4 * n
	}
	return bytes
}

// pngTransparent reports whether a tRNS chunk stands before the picture's data.
func pngTransparent(data io.ReaderAt) bool {
	var head [8]byte
	for at := int64(8); ; {
		if _, err := data.ReadAt(head[:], at); err != nil {
			return false
		}
		switch string(head[4:]) {
		case "tRNS":
			return true
		case "IDAT", "IEND":
			return false
		}
		at += 12 + int64(uint32(head[0])<<24|uint32(head[1])<<16|uint32(head[2])<<8|uint32(head[3]))
	}
}

// deepPNG reports whether a PNG has 16 bits a sample.
func deepPNG(m color.Model) bool {
	return m == color.RGBA64Model || m == color.NRGBA64Model || m == color.Gray16Model
}

// readWebP returns the size of a WebP picture and the estimated memory for decoding it, in bytes. The canvas
// and the picture on it each declare a size; the largest counts.
func readWebP(data *io.SectionReader) (image.Config, int64, error) {
	cfg, err := webp.DecodeConfig(io.NewSectionReader(data, 0, data.Size()))
	if err != nil {
		return cfg, 0, err
	}
	alpha, lossless := false, false
	var head [18]byte // of a chunk: its name, its size and the first bytes of its body
	for at := int64(12); ; {
		n, _ := data.ReadAt(head[:], at)
		if n < 8 {
			break
		}
		size := int64(binary.LittleEndian.Uint32(head[4:]))
		body := head[8:n]
		w, h := 0, 0
		switch kind := string(head[:4]); {
		case kind == "ANIM":
			return cfg, 0, errors.New("it is animated")
		case kind == "ALPH":
			alpha = true
		case kind == "VP8 " && len(body) >= 10: // RFC 6386 9.1
			w, h = int(binary.LittleEndian.Uint16(body[6:]))&0x3fff, int(binary.LittleEndian.Uint16(body[8:]))&0x3fff
		case kind == "VP8L" && len(body) >= 5: // RFC 9649 3.4
			lossless = true
			bits := binary.LittleEndian.Uint32(body[1:])
			w, h = int(bits&0x3fff)+1, int(bits>>14&0x3fff)+1
		}
		cfg.Width, cfg.Height = max(cfg.Width, w), max(cfg.Height, h)
		at += 8 + size + size&1
	}
	// Both sides are padded to whole macroblocks of 16 by 16.
	n := int64(cfg.Width+15) * int64(cfg.Height+15)
	bytes := n*3/2 + n/16 + min(data.Size(), webpData) // luma, chroma, data of each macroblock, the file
	if alpha || lossless {
		// Bytes a pixel: 4, 2 more if packed with few colours, and 0.75 for three transforms and
		// the map of the Huffman codes. The codes take up to 256 bytes for each byte of the file.
		bytes += n*27/4 - n*3/2 + min(256*data.Size(), webpCodes)
	}
	if alpha {
		bytes += n * 5 / 2 // luma, chroma and alpha, from which colours are made
	}
	return cfg, bytes, nil
}

const (
	webpData  = 9 << 24     // the largest file of nine partitions that the decoder reads
	webpCodes = 130_000_000 // 2600 groups of five codes, the most that it takes
)

// heicMemory estimates the memory for decoding a HEIC still that is not of the kind that phones write
// (errOtherHEIC), in bytes. The decoder is WebAssembly. Measured with 'ecart read', including the program
// itself: 108 MB for 0.025 million pixels, 368 MB for 4000 by 3000. The decoder alone took 740 MB more for
// 48.8 million pixels than for 12.2. The file is held in memory three times.
func heicMemory(size int64, cfg image.Config) int64 {
	return heicBase + heicPixel*int64(cfg.Width)*int64(cfg.Height) + 3*size
}

const (
	heicBase  = 70_000_000 // the compiled decoder
	heicPixel = 22
)
