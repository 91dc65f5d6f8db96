package av

// #include <stdlib.h>
// #include "clip.h"
// #include "convert.h"
import "C"

import (
	"image"
	"unsafe"
)

// Layout says how the samples of a Picture lie in its planes.
type Layout int

const (
	Grey Layout = iota // one plane of luma
	YUV                // a plane of luma, two of chroma
	RGBA               // one plane, four bytes a pixel, alpha ignored
)

// Picture is one picture in square pixels and in its stored orientation. Samples of more than eight bits
// take two bytes in the machine's byte order.
type Picture struct {
	Width, Height             int
	StoredWidth, StoredHeight int // before pixels were made square
	Layout                    Layout
	Depth                     int  // bits per sample, 8 to 16
	ShiftX, ShiftY            int  // chroma planes are smaller by these powers of two
	Space                     int  // matrix coefficients, ISO/IEC 23091-2 table 4
	Full                      bool // full range
	Siting                    Siting
	Planes                    [3][]byte
	Stride                    [3]int // bytes

	frame unsafe.Pointer // owner of the planes in C memory, nil if they are in Go memory
}

// Take returns the picture last received. It must be released, after which its planes are invalid.
func (c *Clip) Take() (*Picture, error) {
	var p C.ec_picture
	if err := failure(C.ec_take(c.c, &p)); err != nil {
		return nil, err
	}
	return pictureOf(&p), nil
}

func pictureOf(p *C.ec_picture) *Picture {
	out := &Picture{
		Width: int(p.width), Height: int(p.height),
		StoredWidth: int(p.stored_width), StoredHeight: int(p.stored_height),
		Layout: Layout(p.layout), Depth: int(p.depth),
		ShiftX: int(p.shift_x), ShiftY: int(p.shift_y),
		Space: int(p.space), Full: p.full != 0, Siting: Siting(p.siting),
		frame: p.frame,
	}
	for i := range out.planes() {
		_, rows := out.planeSize(i)
		out.Stride[i] = int(p.stride[i])
		out.Planes[i] = unsafe.Slice((*byte)(p.plane[i]), out.Stride[i]*(rows-1)+out.rowBytes(i))
	}
	return out
}

// Release frees a picture in C memory. For a picture in Go memory it does nothing.
func (p *Picture) Release() {
	if p.frame == nil {
		return
	}
	C.ec_release(p.frame)
	p.frame, p.Planes = nil, [3][]byte{}
}

// Bytes returns the memory of the picture.
func (p *Picture) Bytes() int {
	n := 0
	for _, plane := range p.Planes {
		n += cap(plane) // a sample of 16 bits uses one byte, but both are allocated
	}
	return n
}

// Copy returns a copy of the picture in Go memory, which needs no release.
func (p *Picture) Copy() *Picture {
	out := *p
	out.frame = nil
	for i := range p.planes() {
		_, rows := p.planeSize(i)
		n := p.rowBytes(i)
		pix := make([]byte, n*rows)
		for y := range rows {
			copy(pix[y*n:(y+1)*n], p.Planes[i][y*p.Stride[i]:])
		}
		out.Planes[i], out.Stride[i] = pix, n
	}
	return &out
}

// Halved returns the picture with its width and height halved the given number of times, at least one sample
// each, in Go memory; an odd last column or row is dropped. Blocks of two by two samples are averaged as they
// are stored, each plane separately, so that colours differ slightly from an average of converted pixels. Siting is
// set to the centre; chroma of 4:2:0 and 4:2:2 lies at most a quarter of a pixel off it. It returns nil for RGBA.
func (p *Picture) Halved(times int) *Picture {
	if p.Layout == RGBA {
		return nil
	}
	for range times {
		out := *p
		out.frame = nil
		out.Width, out.Height = max(1, p.Width/2), max(1, p.Height/2)
		out.Siting = Centre
		size := (p.Depth + 7) / 8
		for i := range p.planes() {
			w, h := p.planeSize(i)
			ow, oh := out.planeSize(i)
			out.Stride[i] = out.rowBytes(i)
			out.Planes[i] = make([]byte, out.Stride[i]*oh)
			C.ec_halve((*C.uint8_t)(unsafe.SliceData(p.Planes[i])), C.ptrdiff_t(p.Stride[i]), C.int(w), C.int(h), C.int(size),
				(*C.uint8_t)(unsafe.SliceData(out.Planes[i])), C.ptrdiff_t(out.Stride[i]), C.int(ow), C.int(oh))
		}
		p = &out
	}
	return p
}

func (p *Picture) planes() int {
	if p.Layout == YUV {
		return 3
	}
	return 1
}

// planeSize returns the columns and rows of plane i.
func (p *Picture) planeSize(i int) (w, h int) {
	if i == 0 {
		return p.Width, p.Height
	}
	return (p.Width + 1<<p.ShiftX - 1) >> p.ShiftX, (p.Height + 1<<p.ShiftY - 1) >> p.ShiftY
}

func (p *Picture) rowBytes(i int) int {
	w, _ := p.planeSize(i)
	if p.Layout == RGBA {
		return 4 * w
	}
	return w * ((p.Depth + 7) / 8)
}

// Upright returns the bounds of the upright picture.
func (p *Picture) Upright(o Orientation) image.Rectangle {
	if o.swaps() {
		return image.Rect(0, 0, p.Height, p.Width)
	}
	return image.Rect(0, 0, p.Width, p.Height)
}

// Convert fills dst, whose bounds are in coordinates of the upright picture, with the colours of the
// picture. Parts of dst outside the picture are left as they are.
func (p *Picture) Convert(dst *image.RGBA, o Orientation) {
	r := dst.Rect.Intersect(p.Upright(o))
	if r.Empty() || len(p.Planes[0]) == 0 {
		return
	}
	part := dst.SubImage(r).(*image.RGBA)
	// the stored rectangle, and the position of its first pixel in part
	s, first, right, down := o.stored(r, p.Width, p.Height, part.Stride)
	f := p.format()
	x, y, w, h := C.int(s.Min.X), C.int(s.Min.Y), C.int(s.Dx()), C.int(s.Dy())
	out := (*C.uint8_t)(unsafe.Pointer(&part.Pix[first]))
	ptr := p.pointers()
	C.ec_convert(ptr[0], ptr[1], ptr[2], &f, x, y, w, h, out, C.ptrdiff_t(right), C.ptrdiff_t(down))
}

func (p *Picture) pointers() (ptr [3]*C.uint8_t) {
	for i := range p.planes() {
		ptr[i] = (*C.uint8_t)(unsafe.Pointer(unsafe.SliceData(p.Planes[i])))
	}
	return ptr
}

func (p *Picture) format() C.ec_format {
	m := p.weights()
	f := C.ec_format{
		width: C.int(p.Width), height: C.int(p.Height), layout: C.int(p.Layout), depth: C.int(p.Depth),
		shift_x: C.int(p.ShiftX), shift_y: C.int(p.ShiftY),
		y: C.int32_t(m.y), rv: C.int32_t(m.rv), gu: C.int32_t(m.gu), gv: C.int32_t(m.gv), bu: C.int32_t(m.bu),
		r0: C.int32_t(m.r0), g0: C.int32_t(m.g0), b0: C.int32_t(m.b0),
	}
	if p.Layout == Grey {
		f.grey = 1
	}
	ox, oy := p.Siting.offset(p.ShiftX, p.ShiftY)
	f.offset_x, f.offset_y = C.int(ox), C.int(oy)
	for i := range f.stride {
		f.stride[i] = C.int(p.Stride[i])
	}
	return f
}
