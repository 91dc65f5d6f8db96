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

// thinned is a picture in which every n-th pixel of every n-th row is looked at, and what inks it has.
type thinned struct {
	step  int
	w, h  int
	cells []uint64 // inks of each
	pure  []uint64 // those that are nearly unmixed
	some  []int32  // the cells that have any
	row   image.RGBA
	queue []int32
}

// load looks at a picture.
func (t *thinned) load(p Picture, inks *palette, step int) {
	b := p.Bounds()
	t.step, t.w, t.h = step, b.Dx()/step, b.Dy()/step
	t.cells = sized(t.cells, t.w*t.h)
	t.pure = sized(t.pure, t.w*t.h)
	t.some = t.some[:0]
	t.row = image.RGBA{Pix: sized(t.row.Pix, 4*b.Dx()), Stride: 4 * b.Dx()}
	for y := range t.h {
		at := y*step + step/2
		t.row.Rect = image.Rect(0, at, b.Dx(), at+1)
		p.Fill(&t.row)
		pix := t.row.Pix[4*(step/2):]
		cells := t.cells[y*t.w : (y+1)*t.w]
		for x := range cells {
			i := 4 * step * x
			at := index(pix[i], pix[i+1], pix[i+2])
			cells[x] = inks.of[at]
			t.pure[y*t.w+x] = inks.pure[at]
			if cells[x] != 0 {
				t.some = append(t.some, int32(y*t.w+x))
			}
		}
	}
}

// share is the part of the picture that has an ink.
func (t *thinned) share(ink int) float64 {
	n := 0
	for _, c := range t.some {
		if t.cells[c]>>ink&1 != 0 {
			n++
		}
	}
	return float64(n) / float64(max(len(t.cells), 1))
}

// blobs lists what has the ink and least to most cells, in the order of the rows. Cells that touch at a corner hang together;
// of what is larger, the parts of unmixed cells are listed.
func (t *thinned) blobs(ink int, least, most float64, out []blob) []blob {
	out = out[:0]
	for _, c := range t.some {
		b, ok := t.flood(t.cells, ink, c)
		switch n := float64(b.cells); {
		case !ok || n < least:
		case n <= most:
			out = append(out, b)
		default:
			for _, c := range slices.Clone(t.queue) {
				if part, ok := t.flood(t.pure, ink, c); ok && float64(part.cells) >= least && float64(part.cells) <= most {
					out = append(out, part)
				}
			}
		}
	}
	return out
}

// flood takes the ink from all cells of a map that hang together with one, and leaves their list in the queue.
func (t *thinned) flood(cells []uint64, ink int, from int32) (b blob, ok bool) {
	bit := uint64(1) << ink
	if cells[from]&bit == 0 {
		return b, false
	}
	cells[from] &^= bit
	t.queue = append(t.queue[:0], from)
	x0, y0, x1, y1, pure := t.w, t.h, 0, 0, 0
	for n := 0; n < len(t.queue); n++ {
		i := int(t.queue[n])
		x, y := i%t.w, i/t.w
		pure += int(t.pure[i] >> ink & 1)
		x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x), max(y1, y)
		for b := max(y-1, 0); b <= min(y+1, t.h-1); b++ {
			for a := max(x-1, 0); a <= min(x+1, t.w-1); a++ {
				if j := b*t.w + a; cells[j]&bit != 0 {
					cells[j] &^= bit
					t.queue = append(t.queue, int32(j))
				}
			}
		}
	}
	s := t.step
	return blob{image.Rect(x0*s, y0*s, (x1+1)*s, (y1+1)*s), len(t.queue), pure}, true
}
