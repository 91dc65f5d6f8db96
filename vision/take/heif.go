package take

import (
	"encoding/binary"
	"errors"
	"image"
	"io"

	"ecart/vision/internal/av"
)

// heif holds the properties of a HEIF file (ISO/IEC 23008-12) that are known before decoding.
type heif struct {
	config image.Config // the largest picture in it
	depth  int          // bits per sample
	space  int          // matrix coefficients
	full   bool         // full range
}

// readHEIF reads the size and the colours from the item properties.
func readHEIF(properties []property) (heif, error) {
	h := heif{depth: 8, space: av.SpaceBT601, full: true} // the defaults are those of JPEG
	seen := false
	for _, p := range properties {
		kind, body := p.kind, p.body
		switch {
		case kind == "ispe" && len(body) >= 12:
			w, t := int(binary.BigEndian.Uint32(body[4:])), int(binary.BigEndian.Uint32(body[8:]))
			h.config.Width, h.config.Height = max(h.config.Width, w), max(h.config.Height, t)
		case kind == "pixi" && len(body) >= 6:
			h.depth = max(h.depth, int(body[5]))
		case kind == "colr" && len(body) >= 11 && string(body[:4]) == "nclx" && !seen:
			seen = true
			h.space = int(binary.BigEndian.Uint16(body[8:]))
			h.full = body[10]&0x80 != 0
		}
	}
	if h.config.Width == 0 {
		return h, errors.New("it describes no picture")
	}
	return h, nil
}

// heicHead returns the meta box of a HEIC file, which describes its pictures. A meta box larger than 1 MB is an
// error: no camera writes that many tiles.
func heicHead(data io.ReaderAt) ([]byte, error) {
	const most = 1 << 20
	var head [16]byte
	for at := int64(0); ; {
		n, _ := data.ReadAt(head[:], at)
		if n < 8 {
			return nil, errors.New("it describes no picture")
		}
		size := int64(binary.BigEndian.Uint32(head[:]))
		if size == 1 && n == 16 {
			size = int64(binary.BigEndian.Uint64(head[8:]))
		}
		if string(head[4:8]) == "meta" {
			if size > most {
				return nil, errors.New("the description of its pictures is longer than any camera writes")
			}
			out := make([]byte, size)
			n, _ := data.ReadAt(out, at)
			return out[:n], nil
		}
		if size < 8 || at > 1<<62-size {
			return nil, errors.New("it describes no picture")
		}
		at += size
	}
}

// overwritten is the number of bytes at the start of a decoded HEIC picture that are lost: the decoding
// library frees the memory that it returns, and its allocator (dlmalloc, on 32 bits) stores six words at
// the beginning of a free block.
const overwritten = 24

// mendCorner replaces the lost samples, all in the first row, by those of the row below.
func mendCorner(p *av.Picture) {
	row, n := p.Planes[0], min(overwritten, p.Stride[0])
	if p.Height > 1 {
		copy(row[:n], row[p.Stride[0]:])
	}
}
