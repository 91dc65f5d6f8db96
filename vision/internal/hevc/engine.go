package hevc

import "math/bits"

// engine is the arithmetic decoder (9.3.4.3). offset and codeRange are those of the standard, with extra bits of the
// offset read ahead: offset holds 9 + ahead bits.
type engine struct {
	data      []byte
	next      int // next byte of data to read
	codeRange uint32
	offset    uint64
	ahead     int
	contexts  [contexts]uint8 // state index times 2, plus the value of the more probable symbol
}

// start starts decoding at byte at of data (9.3.2.5).
func (e *engine) start(data []byte, at int) {
	e.data, e.next, e.codeRange, e.offset, e.ahead = data, at, 510, 0, -9
	e.fill()
}

// fill reads ahead at least 24 bits; past the end it reads zeros.
func (e *engine) fill() {
	for e.ahead < 24 {
		e.offset <<= 8
		if e.next < len(e.data) {
			e.offset |= uint64(e.data[e.next])
		}
		e.next++
		e.ahead += 8
	}
}

// position returns the number of bits read.
func (e *engine) position() int { return 8*e.next - e.ahead }

// over reports whether more bits were read than there are.
func (e *engine) over() bool { return e.position() > 8*len(e.data) }

// bin decodes one bin with context c (9.3.4.3.2).
func (e *engine) bin(c int) int {
	state := e.contexts[c]
	low := uint32(rangeLow[state>>1][e.codeRange>>6&3])
	high := e.codeRange - low
	if scaled := uint64(high) << e.ahead; e.offset >= scaled {
		e.offset -= scaled
		shift := bits.LeadingZeros32(low) - 23
		e.codeRange = low << shift
		e.ahead -= shift
		e.contexts[c] = afterLow[state]
		if e.ahead < 16 {
			e.fill()
		}
		return int(state&1) ^ 1
	}
	e.contexts[c] = afterHigh[state]
	if high < 256 {
		high <<= 1
		if e.ahead--; e.ahead < 16 {
			e.fill()
		}
	}
	e.codeRange = high
	return int(state & 1)
}

// bypass decodes one bin without a context (9.3.4.3.4).
func (e *engine) bypass() int {
	e.ahead--
	bit := 0
	if scaled := uint64(e.codeRange) << e.ahead; e.offset >= scaled {
		e.offset -= scaled
		bit = 1
	}
	if e.ahead < 16 {
		e.fill()
	}
	return bit
}

// fixed decodes n bins without a context as a number.
func (e *engine) fixed(n int) int {
	v := 0
	for range n {
		v = v<<1 | e.bypass()
	}
	return v
}

// golomb decodes an Exp-Golomb code of order k (9.3.3.5). It stops at a prefix longer than any valid one.
func (e *engine) golomb(k int) int {
	v := 0
	for e.bypass() == 1 {
		v += 1 << k
		if k++; k > 31 {
			break
		}
	}
	return v + e.fixed(k)
}

// unary decodes up to most ones without a context.
func (e *engine) unary(most int) int {
	n := 0
	for n < most && e.bypass() == 1 {
		n++
	}
	return n
}

// terminates decodes a terminating bin (9.3.4.3.5).
func (e *engine) terminates() bool {
	e.codeRange -= 2
	scaled := uint64(e.codeRange) << e.ahead
	if e.offset >= scaled {
		return true
	}
	if e.codeRange < 256 {
		e.codeRange <<= 1
		if e.ahead--; e.ahead < 16 {
			e.fill()
		}
	}
	return false
}

// afterEnd reads the stop bit and the zeros after a terminating bin. It returns the position of the next byte and
// whether the bits are valid.
func (e *engine) afterEnd() (at int, ok bool) {
	b := bitReader{data: e.data, pos: e.position() - 1}
	ok = b.trailing()
	return b.pos >> 3, ok
}

// reset sets the contexts to their initial values (9.3.2.2). kind is 0 for I slices, 1 or 2 for others.
func (e *engine) reset(kind, qp int) {
	qp = min(max(qp, 0), 51)
	for i, v := range initial[kind] {
		slope, start := int(v>>4)*5-45, int(v&15)<<3-16
		pre := min(max(slope*qp>>4+start, 1), 126)
		if pre <= 63 {
			e.contexts[i] = uint8((63 - pre) << 1)
		} else {
			e.contexts[i] = uint8((pre-64)<<1 | 1)
		}
	}
}

// afterHigh and afterLow give the next context after the more and the less probable symbol (table 9-53).
var afterHigh, afterLow [128]uint8

func init() {
	for s := range 63 {
		for symbol := range 2 {
			afterHigh[2*s+symbol] = uint8(2*min(s+1, 62) + symbol)
			next := symbol
			if s == 0 {
				next = 1 - symbol
			}
			afterLow[2*s+symbol] = uint8(2*int(stateAfterLow[s]) + next)
		}
	}
}
