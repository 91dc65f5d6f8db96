package take

import (
	"image"
	"time"

	"ecart/vision/internal/av"
)

// Frame is one picture of a take. It keeps luma and chroma as decoded and converts them to colours
// on request, so that reading a small part is cheap.
//
// Pixel (0, 0) is the top left one of the upright picture, and its centre is at (0, 0).
//
// A Frame may be read from several goroutines.
type Frame struct {
	Index int           // from 0
	Time  time.Duration // from the first frame, as stored

	// Damaged says that the decoder found damage between the last clean start and this frame:
	// parts of the picture may have been filled in by the decoder.
	Damaged bool

	picture     *av.Picture
	orientation av.Orientation
}

// Bounds returns the rectangle of the upright picture, from (0, 0).
func (f *Frame) Bounds() image.Rectangle { return f.live().Upright(f.orientation) }

// Image returns the whole upright picture, opaque.
func (f *Frame) Image() *image.RGBA { return f.Region(f.Bounds()) }

// Region returns the part of the upright picture within r, opaque, with the same bytes as in
// Image. Its bounds are r intersected with Bounds.
func (f *Frame) Region(r image.Rectangle) *image.RGBA {
	out := image.NewRGBA(r.Intersect(f.Bounds()))
	f.Fill(out)
	return out
}

// Fill is Region without an allocation: it fills dst, whose bounds are in coordinates of the
// upright picture. Pixels of dst outside the picture are left as they are.
func (f *Frame) Fill(dst *image.RGBA) { f.live().Convert(dst, f.orientation) }

// Find divides the picture into cells of step by step pixels, from the top left corner on, and appends those cells to out whose middle
// pixel has a colour in the set, row by row.
func (f *Frame) Find(step int, set *ColourSet, out []Sample) []Sample {
	return f.live().Find(step, set, f.orientation, out)
}

// ColourSet is a set of colours, by numbers of 15 bits as from ColourNumber.
type ColourSet = av.ColourSet

// ColourNumber returns the number of a colour: the upper five bits of red, green and blue.
func ColourNumber(r, g, b byte) uint16 { return av.ColourNumber(r, g, b) }

// MiddleColour returns the mean of the colours of a number, 0 to 255 in each channel.
func MiddleColour(number uint16) (r, g, b float64) { return av.MiddleColour(number) }

// Sample is a cell that Find has found: its column, its row, and the number of its colour.
type Sample = av.Sample

// Halved returns the whole upright picture with width and height halved the given number of times, opaque; an
// odd last column or row of the stored picture is dropped. It is several times faster than averaging the
// pixels of Image, and its colours differ slightly from that average. It returns nil if the picture is
// stored as RGBA.
func (f *Frame) Halved(times int) *image.RGBA {
	small := f.live().Halved(times)
	if small == nil {
		return nil
	}
	out := image.NewRGBA(small.Upright(f.orientation))
	small.Convert(out, f.orientation)
	return out
}

// Clone returns a copy that stays valid after the function of Stream has returned.
func (f *Frame) Clone() *Frame {
	out := *f
	out.picture = f.live().Copy()
	return &out
}

// Release frees the memory of a frame, which must not be used afterwards.
func (f *Frame) Release() {
	if f.picture != nil {
		f.picture.Release()
		f.picture = nil
	}
}

func (f *Frame) live() *av.Picture {
	if f.picture == nil {
		panic("take: a frame was used after the function of Stream returned; use Clone to keep it")
	}
	return f.picture
}
