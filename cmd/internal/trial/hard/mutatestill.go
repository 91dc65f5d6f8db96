package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"math/rand/v2"
)

// inStill are changes to the parts of a JPEG, PNG or WebP.
var inStill = []change{jpegSize, jpegSegment, pngSize, pngChunk, webpSize, webpChunk, anyExif}

// part is a segment of a JPEG or a chunk of a PNG or a WebP: its kind, and the offsets of its
// length, its contents and its end.
type part struct {
	kind         string
	length, body int
	end          int
}

func jpegParts(d []byte) []part {
	var out []part
	if !bytes.HasPrefix(d, []byte{0xff, 0xd8}) {
		return nil
	}
	for at := 2; at+4 <= len(d) && d[at] == 0xff; {
		n := int(binary.BigEndian.Uint16(d[at+2:]))
		if at+2+n > len(d) {
			break
		}
		out = append(out, part{fmt.Sprintf("%02x", d[at+1]), at + 2, at + 4, at + 2 + n})
		if d[at+1] == 0xda { // the scan: the rest of the file is coded data
			out = append(out, part{"scan", at + 2, at + 2 + n, len(d)})
			break
		}
		at += 2 + n
	}
	return out
}

func pngParts(d []byte) []part {
	var out []part
	if !bytes.HasPrefix(d, []byte("\x89PNG")) {
		return nil
	}
	for at := 8; at+12 <= len(d); {
		n := int(binary.BigEndian.Uint32(d[at:]))
		if at+12+n > len(d) {
			break
		}
		out = append(out, part{string(d[at+4 : at+8]), at, at + 8, at + 8 + n})
		at += 12 + n
	}
	return out
}

func webpParts(d []byte) []part {
	var out []part
	if len(d) < 12 || string(d[8:12]) != "WEBP" {
		return nil
	}
	for at := 12; at+8 <= len(d); {
		n := int(binary.LittleEndian.Uint32(d[at+4:]))
		if at+8+n > len(d) {
			break
		}
		out = append(out, part{string(d[at : at+4]), at + 4, at + 8, at + 8 + n})
		at += 8 + n + n%2
	}
	return out
}

func jpegSize(r *rand.Rand, d []byte) ([]byte, string) {
	for _, p := range jpegParts(d) {
		if p.kind == "c0" || p.kind == "c2" {
			at := p.body + 1 + 2*r.IntN(2)
			now := []uint16{0, 1, 0xffff, uint16(r.Uint32()), 8000}[r.IntN(5)]
			binary.BigEndian.PutUint16(d[at:], now)
			return d, fmt.Sprintf("a side of the JPEG is %d", now)
		}
	}
	return d, ""
}

func jpegSegment(r *rand.Rand, d []byte) ([]byte, string) { return inPart(r, d, jpegParts(d), false) }

func webpChunk(r *rand.Rand, d []byte) ([]byte, string) { return inPart(r, d, webpParts(d), false) }

func pngChunk(r *rand.Rand, d []byte) ([]byte, string) { return inPart(r, d, pngParts(d), true) }

// inPart changes some bytes of a part, or its length. With sums it corrects the checksum
// every second time, so that the checksum does not reveal the damage.
func inPart(r *rand.Rand, d []byte, parts []part, sums bool) ([]byte, string) {
	if len(parts) == 0 {
		return d, ""
	}
	p := parts[r.IntN(len(parts))]
	if p.end == p.body || r.IntN(4) == 0 {
		d[p.length+r.IntN(2)] ^= byte(1 + r.IntN(255))
		return d, fmt.Sprintf("length of %s", p.kind)
	}
	n := 1 + r.IntN(4)
	for range n {
		d[p.body+r.IntN(p.end-p.body)] = byte(r.Uint32())
	}
	if sums && r.IntN(2) == 0 {
		checksum(d, p)
	}
	return d, fmt.Sprintf("%d bytes of %s", n, p.kind)
}

func checksum(d []byte, p part) {
	binary.BigEndian.PutUint32(d[p.end:], crc32.ChecksumIEEE(d[p.body-4:p.end]))
}

func pngSize(r *rand.Rand, d []byte) ([]byte, string) {
	for _, p := range pngParts(d) {
		if p.kind == "IHDR" {
			at := p.body + 4*r.IntN(2)
			now := extremeNumber(r, binary.BigEndian.Uint32(d[at:]))
			binary.BigEndian.PutUint32(d[at:], now)
			checksum(d, p)
			return d, fmt.Sprintf("a side of the PNG is %d", now)
		}
	}
	return d, ""
}

// webpSize changes the size in the header: VP8 has 14 bits a side after its start code, VP8L
// 14 bits each after its signature (RFC 9649).
func webpSize(r *rand.Rand, d []byte) ([]byte, string) {
	for _, p := range webpParts(d) {
		switch {
		case p.kind == "VP8 " && p.end-p.body > 10:
			binary.LittleEndian.PutUint16(d[p.body+6+2*r.IntN(2):], uint16([]int{0, 1, 0x3fff, r.IntN(1 << 14)}[r.IntN(4)]))
		case p.kind == "VP8L" && p.end-p.body > 5:
			binary.LittleEndian.PutUint32(d[p.body+1:], []uint32{0, 1, 0x0fffffff, r.Uint32() >> 4}[r.IntN(4)])
		default:
			continue
		}
		return d, "the size of the WebP"
	}
	return d, ""
}

// anyExif changes bytes of the TIFF structure of EXIF, wherever it is in the file.
func anyExif(r *rand.Rand, d []byte) ([]byte, string) {
	at := bytes.Index(d, []byte("Exif\x00\x00"))
	if at < 0 {
		return d, ""
	}
	n := 1 + r.IntN(4)
	for range n {
		d[min(len(d)-1, at+6+r.IntN(36))] = byte(r.Uint32())
	}
	return d, fmt.Sprintf("%d bytes of EXIF", n)
}
