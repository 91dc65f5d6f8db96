package output

import (
	"encoding/binary"
	"hash/crc32"
	"io"
)

const pngSignature = "\x89PNG\r\n\x1a\n"

// pngHead is the length of a PNG's signature and its first chunk, IHDR.
const pngHead = 8 + 4 + 4 + 13 + 4

// pngChunk returns the chunk that marks a PNG of this form. It is private and not safe to
// copy, so that programs that change the picture drop it (PNG specification, third
// edition, 5.4: the case of the letters says so).
func (f Form) pngChunk() []byte {
	data := "ecRT" + f.mark()
	b := binary.BigEndian.AppendUint32(nil, uint32(len(data)-4))
	b = append(b, data...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE([]byte(data)))
}

// trailer returns the mark at the end of a file of another kind; nil if that has none.
func (f Form) trailer(k kind) []byte {
	if f == Recording {
		return nil
	}
	switch k {
	case kindSVG, kindHTML:
		return []byte("<!-- " + f.mark() + " -->\n")
	case kindPDF:
		return []byte("% " + f.mark() + "\n")
	case kindMP4: // a box that players skip (ISO/IEC 14496-12, 8.1.2)
		return append(binary.BigEndian.AppendUint32(nil, uint32(8+len(f.mark()))), "free"+f.mark()...)
	}
	return nil
}

// marking is a writer that inserts a chunk after the first chunk of a PNG.
type marking struct {
	w     io.Writer
	chunk []byte
	n     int // bytes of the PNG so far
}

func (m *marking) Write(b []byte) (int, error) {
	head := max(0, min(pngHead-m.n, len(b)))
	n, err := m.w.Write(b[:head])
	m.n += n
	if err != nil || m.n < pngHead {
		return n, err
	}
	if m.chunk != nil {
		if _, err := m.w.Write(m.chunk); err != nil {
			return n, err
		}
		m.chunk = nil
	}
	rest, err := m.w.Write(b[head:])
	return n + rest, err
}
