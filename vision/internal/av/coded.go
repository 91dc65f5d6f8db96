package av

// #include "clip.h"
// #include "coded.h"
import "C"

import (
	"errors"
	"image"
	"unsafe"
)

// Coded decodes HEVC pictures that do not depend on others, such as the tiles of a still.
type Coded struct{ c *C.ec_coded }

// OpenCoded opens a decoder for pictures of at most maxPixels pixels. config is the decoder's
// configuration, an hvcC record (ISO/IEC 14496-15 8.3.3).
func OpenCoded(config []byte, maxPixels int64) (*Coded, error) {
	if len(config) == 0 {
		return nil, errors.New("the decoder's configuration is missing")
	}
	var status C.int
	c := C.ec_coded_open((*C.uint8_t)(unsafe.Pointer(&config[0])), C.int(len(config)), C.int64_t(maxPixels), &status)
	if c == nil {
		return nil, failure(status)
	}
	return &Coded{c}, nil
}

// Close frees the decoder. Its pictures stay valid.
func (d *Coded) Close() { C.ec_coded_close(d.c) }

// Decode decodes one picture, which must be released. Damage in any part of it is an error.
func (d *Coded) Decode(data []byte) (*Picture, error) {
	if len(data) == 0 {
		return nil, errors.New("a picture without data")
	}
	var p C.ec_picture
	if err := failure(C.ec_coded_decode(d.c, (*C.uint8_t)(unsafe.Pointer(&data[0])), C.int(len(data)), &p)); err != nil {
		return nil, err
	}
	return pictureOf(&p), nil
}

// Like returns an empty picture of w by h pixels in Go memory, with the sample format of p.
func (p *Picture) Like(w, h int) *Picture {
	out := *p
	out.frame = nil
	out.Width, out.Height, out.StoredWidth, out.StoredHeight = w, h, w, h
	for i := range out.planes() {
		_, rows := out.planeSize(i)
		out.Stride[i] = out.rowBytes(i)
		out.Planes[i] = make([]byte, out.Stride[i]*rows)
	}
	return &out
}

// Put copies a picture into p, with its top left pixel at at. The part outside p is left out. It reports
// false if the sample formats differ, or if at is not on a chroma sample.
func (p *Picture) Put(tile *Picture, at image.Point) bool {
	if p.Layout != tile.Layout || p.Depth != tile.Depth || p.ShiftX != tile.ShiftX || p.ShiftY != tile.ShiftY {
		return false
	}
	sampleSize := (p.Depth + 7) / 8
	for i := range p.planes() {
		x, y := at.X, at.Y
		if i > 0 {
			if x&(1<<p.ShiftX-1) != 0 || y&(1<<p.ShiftY-1) != 0 {
				return false
			}
			x, y = x>>p.ShiftX, y>>p.ShiftY
		}
		w, h := p.planeSize(i)
		tw, th := tile.planeSize(i)
		n := min(tw, w-x) * sampleSize
		for row := range min(th, h-y) {
			if n > 0 {
				copy(p.Planes[i][(y+row)*p.Stride[i]+x*sampleSize:][:n], tile.Planes[i][row*tile.Stride[i]:])
			}
		}
	}
	return true
}
