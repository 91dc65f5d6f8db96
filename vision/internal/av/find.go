package av

// #include "convert.h"
import "C"

import (
	"cmp"
	"image"
	"slices"
)

// ColourSet is a set of colours, with a bit for each number of a colour.
type ColourSet [1 << 15 / 64]uint64

// ColourNumber returns the number of a colour: the upper five bits of red, green and blue.
func ColourNumber(r, g, b byte) uint16 { return uint16(r>>3)<<10 | uint16(g>>3)<<5 | uint16(b>>3) }

// MiddleColour returns the mean of the colours of a number, 0 to 255 in each channel.
func MiddleColour(number uint16) (r, g, b float64) {
	middle := func(bits uint16) float64 { return float64(bits&31)*8 + 3.5 }
	return middle(number >> 10), middle(number >> 5), middle(number)
}

// Add adds the colours of a number.
func (s *ColourSet) Add(number uint16) { s[number/64] |= 1 << (number % 64) }

// Has reports whether the colours of a number are in the set.
func (s *ColourSet) Has(number uint16) bool { return s[number/64]>>(number%64)&1 != 0 }

// Sample is one cell of a subsampled picture: its column, its row, and the number of its colour.
type Sample struct {
	X, Y   int32
	Colour uint16
}

// Find divides the upright picture into cells of step by step pixels, from the top left corner on, and appends those cells to out whose
// middle pixel has a colour in the set, row by row. Pixels have the same colours as from Convert.
func (p *Picture) Find(step int, set *ColourSet, o Orientation, out []Sample) []Sample {
	cells := p.Upright(o).Size().Div(step)
	if cells.X == 0 || cells.Y == 0 || len(p.Planes[0]) == 0 {
		return out
	}
	middle := image.Rect(0, 0, (cells.X-1)*step+1, (cells.Y-1)*step+1).Add(image.Pt(step/2, step/2))
	stride := 4 * middle.Dx()
	s, first, right, down := o.stored(middle, p.Width, p.Height, stride) // as if all their pixels were converted
	f, ptr := p.format(), p.pointers()
	n := (s.Dx()-1)/step + 1
	at, colour := make([]C.uint16_t, n), make([]C.uint16_t, n)
	begin := len(out)
	for y := 0; y < s.Dy(); y += step {
		found := C.ec_find(ptr[0], ptr[1], ptr[2], &f, C.int(s.Min.X), C.int(s.Min.Y+y), C.int(step), C.int(n), (*C.uint64_t)(&set[0]), &at[0], &colour[0])
		for k, x := range at[:found] {
			place := first + int(x)*step*right + y*down
			out = append(out, Sample{int32(place % stride / 4 / step), int32(place / stride / step), uint16(colour[k])})
		}
	}
	if o > 1 {
		slices.SortFunc(out[begin:], func(a, b Sample) int { return cmp.Or(cmp.Compare(a.Y, b.Y), cmp.Compare(a.X, b.X)) })
	}
	return out
}
