package sticker

import "image"

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
			if cells[x] != 0 {
				t.pure[y*t.w+x] = inks.pure[at]
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

// blobs lists what has the ink, in the order of the rows. Cells that touch at a corner hang together.
func (t *thinned) blobs(ink int, out []blob) []blob {
	out = out[:0]
	bit := uint64(1) << ink
	for _, c := range t.some {
		if t.cells[c]&bit == 0 {
			continue
		}
		t.cells[c] &^= bit
		t.queue = append(t.queue[:0], c)
		x0, y0, x1, y1, n, pure := t.w, t.h, 0, 0, 0, 0
		for len(t.queue) > 0 {
			i := int(t.queue[len(t.queue)-1])
			t.queue = t.queue[:len(t.queue)-1]
			x, y := i%t.w, i/t.w
			pure += int(t.pure[i] >> ink & 1)
			x0, y0, x1, y1, n = min(x0, x), min(y0, y), max(x1, x), max(y1, y), n+1
			for b := max(y-1, 0); b <= min(y+1, t.h-1); b++ {
				for a := max(x-1, 0); a <= min(x+1, t.w-1); a++ {
					if j := b*t.w + a; t.cells[j]&bit != 0 {
						t.cells[j] &^= bit
						t.queue = append(t.queue, int32(j))
					}
				}
			}
		}
		s := t.step
		out = append(out, blob{image.Rect(x0*s, y0*s, (x1+1)*s, (y1+1)*s), n, pure})
	}
	return out
}
