package take

import (
	"bufio"
	"bytes"
	"errors"
	"image"
	"io"
)

// jpegFrame holds the fields of a JPEG frame header (ITU-T T.81 B.2.2).
type jpegFrame struct {
	width, height int
	progressive   bool
	sampling      [][2]int64 // factors of each component, horizontal and vertical, 1 to 4
	rgb           bool       // the component identifiers are R, G and B
}

// readJPEGFrame reads the frame header. It steps through the markers as image/jpeg does, so that both
// find the same header.
func readJPEGFrame(from io.Reader) (jpegFrame, error) {
	r := bufio.NewReader(from)
	var f jpegFrame
	if _, err := r.Discard(2); err != nil { // SOI
		return f, err
	}
	for {
		marker, err := nextMarker(r)
		if err != nil {
			return f, err
		}
		if marker >= 0xd0 && marker <= 0xd7 { // RST, which has no length
			continue
		}
		var size [2]byte
		if _, err := io.ReadFull(r, size[:]); err != nil {
			return f, err
		}
		n := int(size[0])<<8 | int(size[1]) - 2
		if n < 0 {
			return f, errors.New("a segment is shorter than its own length")
		}
		if marker < 0xc0 || marker > 0xc2 {
			if _, err := r.Discard(n); err != nil {
				return f, err
			}
			continue
		}
		body := make([]byte, n)
		if _, err := io.ReadFull(r, body); err != nil {
			return f, err
		}
		if n < 6 || n < 6+3*int(body[5]) {
			return f, errors.New("its frame header is cut short")
		}
		f.progressive = marker == 0xc2
		f.height, f.width = int(body[1])<<8|int(body[2]), int(body[3])<<8|int(body[4])
		var names []byte
		for i := range int(body[5]) {
			c := body[6+3*i:]
			names = append(names, c[0])
			f.sampling = append(f.sampling, [2]int64{int64(c[1] >> 4), int64(c[1] & 15)})
		}
		f.rgb = string(names) == "RGB"
		return f, nil
	}
}

// nextMarker skips to the next marker and returns it.
func nextMarker(r *bufio.Reader) (byte, error) {
	last := byte(0)
	for {
		b, err := r.ReadByte()
		if err != nil {
			return 0, err
		}
		if last == 0xff && b != 0xff && b != 0 {
			return b, nil
		}
		last = b
	}
}

// jpegMemory estimates the memory of image/jpeg for a picture, in bytes:
//
//	each sample, padded to whole blocks         1
//	coefficients of a progressive picture       4 more for each sample
//	RGB                                         4 for each pixel
//	CMYK, with its conversion to RGBA           8 for each pixel
func jpegMemory(data *io.SectionReader, cfg image.Config) (int64, error) {
	f, err := readJPEGFrame(io.NewSectionReader(data, 0, data.Size()))
	if err != nil {
		return 0, err
	}
	if f.width != cfg.Width || f.height != cfg.Height || len(f.sampling) == 0 {
		return 0, errors.New("it has two frame headers that differ")
	}
	h, v := int64(1), int64(1)
	for _, s := range f.sampling {
		h, v = max(h, s[0]), max(v, s[1])
	}
	across, down := (int64(f.width)+8*h-1)/(8*h), (int64(f.height)+8*v-1)/(8*v)
	n := int64(f.width) * int64(f.height)
	total := int64(0)
	for _, s := range f.sampling {
		total += across * down * 64 * s[0] * s[1]
	}
	if f.progressive {
		total += 4 * total
	}
	switch {
	case len(f.sampling) == 4:
		total += 8 * n
	case len(f.sampling) == 3 && (f.rgb || total+4*n > stillMemory && adobeRGB(data)):
		total += 4 * n
	}
	return total, nil
}

// adobeRGB reports whether a segment of the file says that its three components are RGB: APP14 of
// Adobe with transform 0. The segment may be anywhere, so that the whole file is searched.
func adobeRGB(data *io.SectionReader) bool {
	const size = 16 // marker, length and content, bytes
	buf := make([]byte, 1<<16)
	for at := int64(0); at < data.Size(); at += int64(len(buf)) - size {
		n, _ := data.ReadAt(buf, at)
		for rest := buf[:n]; ; {
			i := bytes.Index(rest, []byte("\xff\xee\x00\x0eAdobe"))
			if i < 0 || len(rest) < i+size {
				break
			}
			if rest[i+size-1] == 0 {
				return true
			}
			rest = rest[i+1:]
		}
	}
	return false
}
