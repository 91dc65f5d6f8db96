package take

import (
	"image"
	"time"

	"ecart/vision/internal/av"
)

// Frame is one picture of a take. It keeps luma and chroma as they were decoded and works out
// colours when they are asked for, so that looking at a small part costs little.
//
// Pixel (0, 0) is the top left one of the upright picture, and its centre is at (0, 0).
//
// A Frame may be read from several goroutines.
type Frame struct {
	Index int           // from 0
	Time  time.Duration // from the first frame, as stored

	// Damaged says that the decoder met damage between the last clean start and this frame:
	// parts of the picture may be made up.
	Damaged bool

	picture     *av.Picture
	orientation av.Orientation
}

// Bounds returns the rectangle of the upright picture, from (0, 0).
func (f *Frame) Bounds() image.Rectangle { return f.live().Upright(f.orientation) }

// Image returns the whole upright picture, opaque.
func (f *Frame) Image() *image.RGBA { return f.Region(f.Bounds()) }

// Region returns the part of the upright picture within r, opaque, with the same bytes as that
// part of Image. Its bounds are those of r as far as they lie in the picture.
func (f *Frame) Region(r image.Rectangle) *image.RGBA {
	out := image.NewRGBA(r.Intersect(f.Bounds()))
	f.Fill(out)
	return out
}

// Fill is Region without an allocation: it fills dst, whose bounds are in coordinates of the
// upright picture. Pixels of dst outside the picture are left as they are.
func (f *Frame) Fill(dst *image.RGBA) { f.live().Convert(dst, f.orientation) }

// Clone returns a copy that stays valid after the function of Stream has returned.
func (f *Frame) Clone() *Frame {
	out := *f
	out.picture = f.live().Copy()
	return &out
}

// Hold returns the same frame, valid until its Release: nothing is copied, and the decoder's
// memory is held until then.
func (f *Frame) Hold() *Frame {
	out := *f
	out.picture = f.live().Hold()
	return &out
}

// Colours says which parts of a frame HoldParts keeps.
type Colours = av.Colours

// HoldParts is Hold of those parts alone in which there are certain colours, with what lies about
// them, in memory of its own; the rest of the picture is grey. Where most of the picture would have
// to be kept it is Hold.
func (f *Frame) HoldParts(of *Colours) *Frame {
	out := *f
	if out.picture = f.live().Parts(of); out.picture == nil {
		return f.Hold()
	}
	return &out
}

// Bytes is the memory that the frame's luma and chroma take.
func (f *Frame) Bytes() int { return f.live().Bytes() }

// Release gives back the memory of a frame from Hold or HoldParts, which must not be used from here on.
func (f *Frame) Release() {
	if f.picture != nil {
		f.picture.Release()
		f.picture = nil
	}
}

func (f *Frame) live() *av.Picture {
	if f.picture == nil {
		panic("take: a frame was used after the function of Stream returned; use Clone or Hold to keep it")
	}
	return f.picture
}
