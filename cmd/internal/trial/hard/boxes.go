package main

import (
	"encoding/binary"
	"slices"
)

// box is a box of an ISO base media file (ISO/IEC 14496-12). start, body and end are the
// offsets in the file of its size field, its contents and its end.
type box struct {
	kind             string
	start, body, end int
	inside           []*box
}

// containers are the boxes that contain boxes, with the number of bytes before these.
var containers = map[string]int{"moov": 0, "trak": 0, "mdia": 0, "minf": 0, "stbl": 0, "edts": 0, "dinf": 0, "udta": 0,
	"meta": 4, "stsd": 8, "dref": 8, "avc1": 78, "hvc1": 78, "hev1": 78, "iprp": 0, "ipco": 0, "iinf": 6, "iref": 4}

// boxesOf reads the boxes of data[from:end], which is well formed.
func boxesOf(data []byte, from, end int) []*box {
	var out []*box
	for at := from; at+8 <= end; {
		size, head := int(binary.BigEndian.Uint32(data[at:])), 8
		if size == 1 && at+16 <= end {
			size, head = int(binary.BigEndian.Uint64(data[at+8:])), 16
		}
		if size == 0 {
			size = end - at
		}
		if size < head || at+size > end {
			break
		}
		b := &box{kind: string(data[at+4 : at+8]), start: at, body: at + head, end: at + size}
		if skip, ok := containers[b.kind]; ok {
			b.inside = boxesOf(data, b.body+skip, b.end)
		}
		out = append(out, b)
		at += size
	}
	return out
}

// flatten returns the boxes and all that are inside them, in the order of the file.
func flatten(boxes []*box) []*box {
	var out []*box
	for _, b := range boxes {
		out = append(append(out, b), flatten(b.inside)...)
	}
	return out
}

// find returns the first box of one of the kinds, nil where there is none.
func find(boxes []*box, kinds ...string) *box {
	for _, b := range flatten(boxes) {
		if slices.Contains(kinds, b.kind) {
			return b
		}
	}
	return nil
}

// span is a range of bytes of the file.
type span struct{ from, to int }

// packets returns the samples of the first track, from its tables stsz, stsc and stco or co64.
func packets(data []byte) []span {
	boxes := boxesOf(data, 0, len(data))
	sizes, chunks, runs := find(boxes, "stsz"), find(boxes, "stco", "co64"), find(boxes, "stsc")
	if sizes == nil || chunks == nil || runs == nil {
		return nil
	}
	u32 := func(at int) int {
		if at+4 > len(data) {
			return 0
		}
		return int(binary.BigEndian.Uint32(data[at:]))
	}
	var out []span
	n := u32(sizes.body + 8)
	for chunk := range u32(chunks.body + 4) {
		at := u32(chunks.body + 8 + 4*chunk)
		if chunks.kind == "co64" {
			at = u32(chunks.body + 8 + 8*chunk + 4)
		}
		per := 0
		for i := range u32(runs.body + 4) {
			if u32(runs.body+8+12*i) <= chunk+1 {
				per = u32(runs.body + 12 + 12*i)
			}
		}
		for range per {
			if len(out) == n {
				return out
			}
			size := u32(sizes.body + 4)
			if size == 0 {
				size = u32(sizes.body + 12 + 4*len(out))
			}
			if at+size > len(data) {
				return out
			}
			out = append(out, span{at, at + size})
			at += size
		}
	}
	return out
}
