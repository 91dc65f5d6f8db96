package take

import (
	"fmt"
	"image"
	"image/color"
	"io"
	"math"
	"runtime/debug"
)

// stillMemory is how many bytes decoding a still may take of the 600 MB that a command takes at most. The
// program itself takes 60 to 80 MB, by the version of FFmpeg and what else is linked, and a figure that is made
// of the picture up to 85 MB. A JPEG of 108 million pixels takes 162 MB, a PNG of 16 bits a sample and 48
// million pixels 384 MB.
const stillMemory = 430_000_000

// largeGarbage is from how many bytes on what a decoder leaves behind is collected at once: the
// collector would else wait until as much again has been taken.
const largeGarbage = 64 << 20

// collect gives what a decoder of a picture of so many bytes has left behind back to the system.
func collect(bytes int64) {
	if bytes > largeGarbage {
		debug.FreeOSMemory()
	}
}

// checkMemory refuses a still whose decoder would take more than stillMemory bytes.
func checkMemory(name string, k kind, cfg image.Config, bytes int64) error {
	if bytes <= stillMemory {
		return nil
	}
	by := math.Sqrt(stillMemory / float64(bytes)) // memory goes with the number of pixels
	return wrong(fmt.Sprintf("make it smaller, about %d by %d pixels, or save it as an ordinary JPEG (not progressive)", int(by*float64(cfg.Width)), int(by*float64(cfg.Height))),
		"%q is too large: a %s of %d by %d pixels that takes about %d MB of memory to read, and at most %d MB are taken",
		name, k, cfg.Width, cfg.Height, bytes/1_000_000, stillMemory/1_000_000)
}

// pngMemory estimates from the header what image/png takes, in bytes: the picture that it makes, as
// much again for the passes of an interlaced one, and the colours of a palette.
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

// heicMemory is an estimate of what decoding a HEIC still takes, in bytes, where it is not of the kind
// that phones write (errOtherHEIC). The decoder is WebAssembly. Measured with 'ecart read' on one of 0.025
// million pixels, 108 MB with the program itself, and on 4000 by 3000, 368 MB; the decoder alone took 740
// MB more for 48.8 million pixels than for 12.2. The file is held three times.
func heicMemory(size int64, cfg image.Config) int64 {
	return heicBase + heicPixel*int64(cfg.Width)*int64(cfg.Height) + 3*size
}

const (
	heicBase  = 70_000_000 // the compiled decoder
	heicPixel = 22
)
