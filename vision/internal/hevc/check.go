package hevc

import "bytes"

// Checker judges the packets of one stream, in decoding order. It keeps the parameter sets.
type Checker struct {
	sps [16]*sps
	pps [64]*pps

	last *picture // reused for the next picture of the same sequence parameter set
}

// Verdict is what is known of a coded picture.
type Verdict int

const (
	// Unknown is the verdict on a picture that is not judged, since it uses what this package does not decode or its
	// parameter sets are missing.
	Unknown Verdict = iota
	// Whole says that the slices of the picture are contiguous and cover it, and that each ends at its last byte.
	Whole
	// Damaged says that this is not so.
	Damaged
)

// Packet judges the NAL units of a coded picture, and stores the parameter sets among them. The units include their
// headers and emulation prevention bytes.
func (c *Checker) Packet(units func(func([]byte) bool)) Verdict {
	var p *picture
	for unit := range units {
		if len(unit) < 3 || unit[0]&1 != 0 || unit[1]>>3 != 0 {
			continue // of another layer, or no unit
		}
		kind := int(unit[0] >> 1)
		if kind > lastSlice && kind != unitSPS && kind != unitPPS {
			continue
		}
		data := Unescape(unit[2:])
		switch kind {
		case unitSPS:
			if id, s := parseSPS(data); s != nil {
				c.sps[id] = s
			} else {
				c.sps = [16]*sps{} // which one it was is not known
			}
		case unitPPS:
			if id, s := parsePPS(data); s != nil {
				c.pps[id] = s
			} else {
				c.pps = [64]*pps{}
			}
		default:
			var v Verdict
			if p, v = c.slice(p, kind, data); v != Whole {
				return v
			}
		}
	}
	switch {
	case p == nil:
		return Unknown
	case p.done != p.count:
		return Damaged
	}
	return Whole
}

// slice judges one slice of picture p; p is nil for the first slice. It returns the picture.
func (c *Checker) slice(p *picture, kind int, data []byte) (*picture, Verdict) {
	b := &bitReader{data: data}
	h, s, set, v := c.parseHeader(b, kind)
	if v != Whole {
		return p, v
	}
	if p == nil {
		if c.last == nil || c.last.s != s {
			c.last = newPicture(s)
		}
		p = c.last
		p.done = 0
	}
	if p.s != s || !p.decode(h, set, data, b.pos>>3) {
		return p, Damaged
	}
	return p, Whole
}

// Unescape removes the emulation prevention bytes of a NAL unit (7.3.1.1; H.264 has the same).
func Unescape(data []byte) []byte {
	return bytes.ReplaceAll(data, []byte{0, 0, 3}, []byte{0, 0})
}
