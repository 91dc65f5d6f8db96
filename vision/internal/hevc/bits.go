package hevc

import "math/bits"

// bitReader reads a bit string without emulation prevention bytes, most significant bit first. Past the end it reads
// zeros. It sets invalid past the end and for values that the standard does not allow.
type bitReader struct {
	data    []byte
	pos     int // bits read
	invalid bool
}

// u reads an unsigned number of n bits, at most 32.
func (b *bitReader) u(n int) uint32 {
	v := uint64(0)
	for left := n; left > 0; {
		at, within := b.pos>>3, b.pos&7
		take := min(left, 8-within)
		part := uint64(0)
		if at < len(b.data) {
			part = uint64(b.data[at]) >> (8 - within - take) & (1<<take - 1)
		} else {
			b.invalid = true
		}
		v = v<<take | part
		b.pos += take
		left -= take
	}
	return uint32(v)
}

func (b *bitReader) flag() bool { return b.u(1) == 1 }

// skip passes over n bits.
func (b *bitReader) skip(n int) {
	b.pos += n
	b.invalid = b.invalid || b.pos > 8*len(b.data)
}

// ue reads an unsigned Exp-Golomb code (9.2). More than 32 leading zeros are invalid.
func (b *bitReader) ue() int {
	zeros := 0
	for !b.flag() {
		if zeros++; zeros > 32 || b.invalid {
			b.invalid = true
			return 0
		}
	}
	return 1<<zeros - 1 + int(b.u(zeros))
}

// se reads a signed Exp-Golomb code (9.2.2).
func (b *bitReader) se() int {
	v := b.ue()
	if v&1 == 1 {
		return (v + 1) / 2
	}
	return -v / 2
}

// atMost reads an unsigned Exp-Golomb code. A value above limit is invalid, and limit is returned.
func (b *bitReader) atMost(limit int) int {
	v := b.ue()
	if v > limit {
		b.invalid = true
		return limit
	}
	return v
}

// trailing reads up to the next whole byte and reports whether the bits are a 1 followed by zeros.
func (b *bitReader) trailing() bool {
	ok := b.flag()
	for b.pos&7 != 0 {
		ok = !b.flag() && ok
	}
	return ok && !b.invalid
}

// ceilLog2 returns the number of bits needed to number n values.
func ceilLog2(n int) int { return bits.Len(uint(max(n, 1) - 1)) }
