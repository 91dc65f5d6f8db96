package take

import (
	"encoding/binary"
	"io"
	"iter"
	"math"
	"os"
)

// boxes iterates over the boxes of an ISO base media file or of a box's content (ISO/IEC
// 14496-12 4.2). A box whose stated size exceeds the data is cut off at the end of the data.
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

// missingMoov reports whether a file belongs to the MP4 and MOV family but has no index (moov box).
func missingMoov(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	family := false
	for b := range fileBoxes(f, 0, math.MaxInt64) {
		switch b.kind {
		case "moov":
			return false
		case "ftyp", "mdat", "wide":
			family = true
		default:
			if !family {
				return false
			}
		}
	}
	return family
}

// fileBox is a box of a file. Its content lies at bytes from to to-1 of the file.
type fileBox struct {
	kind     string
	from, to int64
}

// fileBoxes iterates over the boxes in bytes from to to-1 of a file, as boxes does. It reads only their headers.
func fileBoxes(f io.ReaderAt, from, to int64) iter.Seq[fileBox] {
	return func(yield func(fileBox) bool) {
		for to-from >= 8 {
			var head [16]byte
			n, _ := f.ReadAt(head[:], from)
			if n < 8 { // the end of the file
				return
			}
			at, size := from+8, int64(binary.BigEndian.Uint32(head[:]))
			switch {
			case size == 0:
				size = to - from
			case size == 1 && n == 16:
				at, size = from+16, int64(binary.BigEndian.Uint64(head[8:]))
			}
			if size < at-from {
				return
			}
			size = min(size, to-from)
			if !yield(fileBox{string(head[4:8]), at, from + size}) {
				return
			}
			from += size
		}
	}
}
