package take

import (
	"encoding/binary"
	"errors"
	"image"
	"io"

	"ecart/vision/internal/av"
)

// heif is what the properties of a HEIF file (ISO/IEC 23008-12) say before it is decoded.
type heif struct {
	config image.Config // the largest picture in it
	depth  int          // bits per sample
	space  int          // matrix coefficients
	full   bool
}

// readHEIF reads the size and the colours from the item properties.
func readHEIF(properties []property) (heif, error) {
	h := heif{depth: 8, space: av.SpaceBT601, full: true} // where the file does not say, as JPEG
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

// heicHead returns the box of a HEIC file that describes its pictures. One of more than a megabyte, which holds
// the properties of more tiles than any camera makes, is an error.
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

// overwritten is how many bytes at the start of a decoded HEIC picture are not the picture's: the
// decoding library frees the memory that it hands out, and its allocator (dlmalloc, on 32 bits)
// keeps six words in the beginning of a free block.
const overwritten = 24

// mendCorner replaces the lost samples, which lie in the first row, by those of the row below.
func mendCorner(p *av.Picture) {
	row, n := p.Planes[0], min(overwritten, p.Stride[0])
	if p.Height > 1 {
		copy(row[:n], row[p.Stride[0]:])
	}
}
