package av

// #include <stdlib.h>
// #include "parts.h"
import "C"

import (
	"sync"
	"unsafe"
)

// Colours says which parts of pictures are kept by Parts: those with pixels of such colours, and
// what lies about them. It may be used from several goroutines.
type Colours struct {
	// Like reports whether a colour is one of them. It is asked for a grid of colours, between
	// which it should not change to and fro.
	Like func(r, g, b uint8) bool

	// Margin is how far about such a pixel a picture is kept, px.
	Margin int

	// Least is how wide what has such a colour is at least, px.
	Least int

	once  sync.Once
	cells [C.EC_CELLS]byte
}

// mostParts is the share of a picture's parts above which it is kept whole.
const mostParts = 0.5

// parts is what was kept of a picture: its squares, each with all planes, one after the other.
type parts struct {
	across int
	at     []int32 // of each square its place, -1 where it was not kept
	bytes  int     // of a square
	data   []byte
	memory unsafe.Pointer // data's, nil where Go owns it
}

// Parts returns a picture of which only the parts with certain colours are kept, in memory of its own;
// the rest of it is grey. It must be released. It returns nil where most of it would have to be kept,
// or where it has no colours.
func (p *Picture) Parts(of *Colours) *Picture {
	if p.Layout != YUV || p.parts != nil || len(p.Planes[0]) == 0 {
		return nil
	}
	f := p.format()
	of.once.Do(func() { of.fill(p, &f) })
	across, down := (p.Width+C.EC_SQUARE-1)/C.EC_SQUARE, (p.Height+C.EC_SQUARE-1)/C.EC_SQUARE
	found := make([]byte, across*down)
	step := 8
	for step > 1 && step > of.Least*2/3 { // a disc of that width has one such pixel in it
		step /= 2
	}
	ptr := p.pointers()
	C.ec_find_parts(ptr[0], ptr[1], ptr[2], &f, (*C.uint8_t)(&of.cells[0]), C.int(step), (*C.uint8_t)(&found[0]))

	q := &parts{across: across, at: make([]int32, len(found))}
	about := of.Margin + step // what has the colour may reach so far beyond a pixel that was looked at
	n := q.number(found, (about+C.EC_SQUARE-1)/C.EC_SQUARE)
	if float64(n) > mostParts*float64(len(found)) {
		return nil
	}
	for i := range p.planes() {
		q.bytes += p.partSize(i) * p.partRows(i)
	}
	if n > 0 {
		if q.memory = C.malloc(C.size_t(n * q.bytes)); q.memory == nil {
			return nil
		}
		q.data = unsafe.Slice((*byte)(q.memory), n*q.bytes)
	}
	for i, at := range q.at {
		if at >= 0 {
			p.store(i%across, i/across, q.data[int(at)*q.bytes:][:q.bytes])
		}
	}
	out := *p
	out.frame, out.Planes, out.Stride, out.parts = nil, [3][]byte{}, [3]int{}, q
	return &out
}

// Bytes is the memory that the samples take.
func (p *Picture) Bytes() int {
	if p.parts != nil {
		return len(p.parts.data)
	}
	n := 0
	for _, plane := range p.Planes {
		n += len(plane)
	}
	return n
}

// fill asks for the colour of each corner of a cell. A cell is one where any of its corners is.
func (c *Colours) fill(p *Picture, f *C.ec_format) {
	const ny, nc = 1 << (8 - C.EC_CELL_Y), 1 << (8 - C.EC_CELL_C)
	code := func(v, bits int) int { return min(v<<bits, 255) << max(min(p.Depth, 12)-8, 0) }
	level := func(v int) uint8 { return uint8(min(max(v>>20, 0), 255)) }
	larger := 1 << (p.ShiftX + p.ShiftY + 2)
	for y := range ny + 1 {
		for u := range nc + 1 {
			for v := range nc + 1 {
				l, cu, cv := code(y, C.EC_CELL_Y)*int(f.y), code(u, C.EC_CELL_C)*larger, code(v, C.EC_CELL_C)*larger
				if !c.Like(level(l+cv*int(f.rv)+int(f.r0)), level(l+cu*int(f.gu)+cv*int(f.gv)+int(f.g0)), level(l+cu*int(f.bu)+int(f.b0))) {
					continue
				}
				for a := max(y-1, 0); a <= min(y, ny-1); a++ {
					for b := max(u-1, 0); b <= min(u, nc-1); b++ {
						for d := max(v-1, 0); d <= min(v, nc-1); d++ {
							c.cells[(a*nc+b)*nc+d] = 1
						}
					}
				}
			}
		}
	}
}

// number gives a place to each square that was found and to those up to about squares from one.
func (q *parts) number(found []byte, about int) int {
	down := len(found) / q.across
	for i := range q.at {
		q.at[i] = -1
	}
	for i, f := range found {
		if f == 0 {
			continue
		}
		x, y := i%q.across, i/q.across
		for b := max(y-about, 0); b <= min(y+about, down-1); b++ {
			for a := max(x-about, 0); a <= min(x+about, q.across-1); a++ {
				q.at[b*q.across+a] = 0
			}
		}
	}
	n := int32(0)
	for i := range q.at {
		if q.at[i] == 0 {
			q.at[i] = n
			n++
		}
	}
	return int(n)
}

// partSize is the bytes of a row of a square in plane i, partRows how many there are.
func (p *Picture) partSize(i int) int {
	n := C.EC_SQUARE * ((p.Depth + 7) / 8)
	if i > 0 {
		n >>= p.ShiftX
	}
	return n
}

func (p *Picture) partRows(i int) int {
	if i > 0 {
		return C.EC_SQUARE >> p.ShiftY
	}
	return C.EC_SQUARE
}

// store copies square (x, y).
func (p *Picture) store(x, y int, to []byte) {
	for i := range p.planes() {
		size, rows := p.partSize(i), p.partRows(i)
		_, h := p.planeSize(i)
		for r := range min(rows, h-y*rows) {
			from := p.Planes[i][(y*rows+r)*p.Stride[i]:]
			if n := p.rowBytes(i) - x*size; n > 0 {
				copy(to[r*size:][:size], from[x*size:][:min(n, size)])
			}
		}
		to = to[size*rows:]
	}
}
