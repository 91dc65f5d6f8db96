package take

import (
	"encoding/binary"
	"io"
	"iter"
	"os"
)

// boxes iterates over the boxes of an ISO base media file or of a box's content (ISO/IEC
// 14496-12 4.2). A box that claims more than there is ends where the data ends.
func boxes(data []byte) iter.Seq2[string, []byte] {
	return func(yield func(string, []byte) bool) {
		for len(data) >= 8 {
			head, size := 8, uint64(binary.BigEndian.Uint32(data))
			switch {
			case size == 0:
				size = uint64(len(data))
			case size == 1 && len(data) >= 16:
				head, size = 16, binary.BigEndian.Uint64(data[8:])
			}
			if size < uint64(head) {
				return
			}
			size = min(size, uint64(len(data)))
			if !yield(string(data[4:8]), data[head:size]) {
				return
			}
			data = data[size:]
		}
	}
}

// missingMoov reports whether a file is of the MP4 and MOV family and lacks its index.
func missingMoov(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	family := false
	var head [16]byte
	for at := int64(0); ; {
		n, _ := f.ReadAt(head[:], at)
		if n < 8 {
			return family
		}
		size := int64(binary.BigEndian.Uint32(head[:]))
		switch string(head[4:8]) {
		case "moov":
			return false
		case "ftyp", "mdat", "wide":
			family = true
		default:
			if !family {
				return false
			}
		}
		switch {
		case size == 0:
			return family
		case size == 1 && n == 16:
			size = int64(binary.BigEndian.Uint64(head[8:]))
		}
		if size < 8 {
			return family
		}
		if at > 1<<62-size {
			return family
		}
		at += size
		if end, err := f.Seek(0, io.SeekEnd); err != nil || at >= end {
			return family
		}
	}
}
