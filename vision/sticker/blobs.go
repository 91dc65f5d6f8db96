package sticker

import (
	"image"
	"slices"
)

// blob is what hangs together of one ink's colours in the thinned picture.
type blob struct {
	box   image.Rectangle // px of the picture
	cells int
	pure  int // of these, nearly unmixed with the ground
}

// thinned is a picture in which every n-th pixel of every n-th row is looked at, and what inks it has. Beyond each of its sides is
// one row or column without any.
type thinned struct {
	step  int
	w, h  int      // with those
	cells []uint64 // inks of each
	pure  []uint64 // those that are nearly unmixed
	some  []cell   // those that have any
	row   image.RGBA
	queue []cell
}

// cell is the column and row of a cell.
type cell struct{ x, y int32 }

// load looks at a picture.
func (t *thinned) load(p Picture, inks *palette, step int) {
	b := p.Bounds()
	for _, c := range t.some { // what the picture before has left
		t.cells[t.at(c)], t.pure[t.at(c)] = 0, 0
	}
	t.step, t.w, t.h = step, b.Dx()/step+2, b.Dy()/step+2
	t.cells, t.pure, t.some = sized(t.cells, t.w*t.h), sized(t.pure, t.w*t.h), t.some[:0]
	t.row = image.RGBA{Pix: sized(t.row.Pix, 4*b.Dx()), Stride: 4 * b.Dx()}
	for y := 1; y < t.h-1; y++ {
		at := (y-1)*step + step/2
		t.row.Rect = image.Rect(0, at, b.Dx(), at+1)
		p.Fill(&t.row)
		pix := t.row.Pix[4*(step/2):]
		for x := 1; x < t.w-1; x++ {
			i := 4 * step * (x - 1)
			at := index(pix[i], pix[i+1], pix[i+2])
			if of := inks.of[at]; of != 0 {
				c := cell{int32(x), int32(y)}
				t.cells[t.at(c)], t.pure[t.at(c)] = of, inks.pure[at]
				t.some = append(t.some, c)
			}
		}
	}
}

func (t *thinned) at(c cell) int { return int(c.y)*t.w + int(c.x) }

// share is the part of the picture that has an ink.
func (t *thinned) share(ink int) float64 {
	n := 0
	for _, c := range t.some {
		if t.cells[t.at(c)]>>ink&1 != 0 {
			n++
		}
	}
	return float64(n) / float64(max((t.w-2)*(t.h-2), 1))
}

// blobs lists what has the ink and least to most cells, in the order of the rows. Cells that touch at a corner hang together;
// of what is larger, the parts of unmixed cells are listed.
func (t *thinned) blobs(ink int, least, most float64, out []blob) []blob {
	out = out[:0]
	for _, c := range t.some {
		if t.cells[t.at(c)]>>ink&1 == 0 {
			continue
		}
		b := t.flood(t.cells, ink, c)
		switch n := float64(b.cells); {
		case n < least:
		case n <= most:
			out = append(out, b)
		default:
			for _, c := range slices.Clone(t.queue) {
				if t.pure[t.at(c)]>>ink&1 == 0 {
					continue
				}
				if part := t.flood(t.pure, ink, c); float64(part.cells) >= least && float64(part.cells) <= most {
					out = append(out, part)
				}
			}
		}
	}
	return out
}

// flood takes the ink from all cells of a map that hang together with one that has it, and leaves their list in the queue.
func (t *thinned) flood(cells []uint64, ink int, from cell) blob {
	bit := uint64(1) << ink
	cells[t.at(from)] &^= bit
	t.queue = append(t.queue[:0], from)
	low, high, pure := from, from, 0
	for n := 0; n < len(t.queue); n++ {
		c := t.queue[n]
		pure += int(t.pure[t.at(c)] >> ink & 1)
		low, high = cell{min(low.x, c.x), min(low.y, c.y)}, cell{max(high.x, c.x), max(high.y, c.y)}
		for y := c.y - 1; y <= c.y+1; y++ {
			for n, inks := range cells[t.at(cell{c.x - 1, y}):][:3] {
				if inks&bit != 0 {
					next := cell{c.x - 1 + int32(n), y}
					cells[t.at(next)] &^= bit
					t.queue = append(t.queue, next)
				}
			}
		}
	}
	s := t.step
	return blob{image.Rect(int(low.x-1)*s, int(low.y-1)*s, int(high.x)*s, int(high.y)*s), len(t.queue), pure}
}
