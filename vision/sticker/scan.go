package sticker

import (
	"cmp"
	"image"
	"math"
	"slices"
)

// scanner lists the candidates of each sticker in a picture.
type scanner struct {
	measurer
	sampled  subsampled
	palette  *palette
	stickers []found
	step     int
	blobs    []blob
}

// samples is the number of samples of the subsampled picture across a sticker's radius.
const samples = 2.6

// mostBlobs limits the blobs of a sticker's ink that are measured in a frame, and mostCandidates the candidates that are kept, so that
// a frame takes bounded time and memory. Where there are more, the colour is everywhere. A quarter of both changed no mark of three drawn
// clips and a real one.
const (
	mostBlobs      = 2048
	mostCandidates = 256
)

func newScanner(stickers []found) *scanner {
	s := &scanner{stickers: stickers}
	least := math.Inf(1)
	for i := range stickers {
		least = math.Min(least, stickers[i].radius())
	}
	s.updatePalette()
	s.step = max(1, int(least/samples))
	return s
}

// load subsamples a picture.
func (s *scanner) load(p Picture) { s.sampled.load(p, s.palette, s.step) }

// scan returns the candidates of every sticker in a picture.
func (s *scanner) scan(p Picture) [][]candidate {
	s.load(p)
	out := make([][]candidate, len(s.stickers))
	for k := range s.stickers {
		out[k] = s.candidates(p, k)
	}
	return out
}

// updatePalette makes the palette of the stickers' present inks.
func (s *scanner) updatePalette() {
	var inks []*ink
	for i := range s.stickers {
		inks = append(inks, &s.stickers[i].ink)
	}
	s.palette = newPalette(inks)
}

// candidates measures the blobs that may be sticker k. Where there are more than mostBlobs, it measures those whose number of nearly
// unmixed cells is nearest to the sticker's. Of more than mostCandidates it keeps those that look most like the sticker in its seed's frame.
func (s *scanner) candidates(p Picture, k int) (out []candidate) {
	f := &s.stickers[k]
	whole := f.area / float64(s.step*s.step) // cells
	s.blobs = s.sampled.blobs(k, whole/8, 8*whole+4, s.blobs)
	if len(s.blobs) > mostBlobs {
		unlike := func(b blob) float64 { return math.Abs(math.Log((float64(b.pure) + 0.5) / (whole + 0.5))) }
		slices.SortStableFunc(s.blobs, func(a, b blob) int { return cmp.Compare(unlike(a), unlike(b)) })
		s.blobs = s.blobs[:mostBlobs]
	}
	for _, b := range s.blobs {
		if c, ok := s.measure(p, &f.ink, b.box); ok && c.openOutline <= mostOpenOutline && !s.listed(out, &c) {
			out = append(out, c)
		}
	}
	if len(out) > mostCandidates {
		like := newLook(&f.candidate)
		odds := func(c *candidate) float64 { o, _ := like.odds(c, lightFrames); return o }
		slices.SortStableFunc(out, func(a, b candidate) int { return cmp.Compare(odds(&b), odds(&a)) })
		out = out[:mostCandidates]
	}
	return out
}

// listed reports whether a candidate is in a list already: with its centre within half its radius.
func (s *scanner) listed(list []candidate, c *candidate) bool {
	for i := range list {
		if list[i].at.Sub(c.at).Norm() < 0.5*c.radius() {
			return true
		}
	}
	return false
}

// blob is a connected set of cells of one ink in the subsampled picture.
type blob struct {
	box   image.Rectangle // px of the picture
	cells int
	pure  int // how many of the cells are nearly unmixed with the ground
}

// subsampled holds the inks of every step-th pixel of every step-th row of a picture. A border of one row or column
// without inks surrounds it.
type subsampled struct {
	step  int
	w, h  int      // in cells, with the border
	cells []uint64 // inks of each cell, one bit each
	pure  []uint64 // the inks with which the cell is nearly unmixed
	inked []cell   // cells that have an ink
	row   image.RGBA
	queue []cell
}

// cell is the column and row of a cell.
type cell struct{ x, y int32 }

// load looks up the inks of a picture's samples.
func (t *subsampled) load(p Picture, inks *palette, step int) {
	b := p.Bounds()
	for _, c := range t.inked { // clear the cells of the previous picture
		t.cells[t.index(c)], t.pure[t.index(c)] = 0, 0
	}
	t.step, t.w, t.h = step, b.Dx()/step+2, b.Dy()/step+2
	t.cells, t.pure, t.inked = resized(t.cells, t.w*t.h), resized(t.pure, t.w*t.h), t.inked[:0]
	t.row = image.RGBA{Pix: resized(t.row.Pix, 4*b.Dx()), Stride: 4 * b.Dx()}
	for y := 1; y < t.h-1; y++ {
		at := (y-1)*step + step/2
		t.row.Rect = image.Rect(0, at, b.Dx(), at+1)
		p.Fill(&t.row)
		pix := t.row.Pix[4*(step/2):]
		for x := 1; x < t.w-1; x++ {
			i := 4 * step * (x - 1)
			at := paletteIndex(pix[i], pix[i+1], pix[i+2])
			if bits := inks.inks[at]; bits != 0 {
				c := cell{int32(x), int32(y)}
				t.cells[t.index(c)], t.pure[t.index(c)] = bits, inks.pure[at]
				t.inked = append(t.inked, c)
			}
		}
	}
}

func (t *subsampled) index(c cell) int { return int(c.y)*t.w + int(c.x) }

// share returns the part of the picture that has an ink, 0 to 1.
func (t *subsampled) share(ink int) float64 {
	n := 0
	for _, c := range t.inked {
		if t.cells[t.index(c)]>>ink&1 != 0 {
			n++
		}
	}
	return float64(n) / float64(max((t.w-2)*(t.h-2), 1))
}

// blobs lists the blobs of an ink with least to most cells, in the order of the rows. Cells that touch at a corner are connected.
// Of a larger blob, it lists the connected parts of nearly unmixed cells.
func (t *subsampled) blobs(ink int, least, most float64, out []blob) []blob {
	out = out[:0]
	for _, c := range t.inked {
		if t.cells[t.index(c)]>>ink&1 == 0 {
			continue
		}
		b := t.flood(t.cells, ink, c)
		switch n := float64(b.cells); {
		case n < least:
		case n <= most:
			out = append(out, b)
		default:
			for _, c := range slices.Clone(t.queue) {
				if t.pure[t.index(c)]>>ink&1 == 0 {
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

// flood clears the ink in all cells that are connected with one that has it, and leaves their list in queue.
func (t *subsampled) flood(cells []uint64, ink int, from cell) blob {
	bit := uint64(1) << ink
	cells[t.index(from)] &^= bit
	t.queue = append(t.queue[:0], from)
	low, high, pure := from, from, 0
	for n := 0; n < len(t.queue); n++ {
		c := t.queue[n]
		pure += int(t.pure[t.index(c)] >> ink & 1)
		low, high = cell{min(low.x, c.x), min(low.y, c.y)}, cell{max(high.x, c.x), max(high.y, c.y)}
		for y := c.y - 1; y <= c.y+1; y++ {
			for n, inks := range cells[t.index(cell{c.x - 1, y}):][:3] {
				if inks&bit != 0 {
					next := cell{c.x - 1 + int32(n), y}
					cells[t.index(next)] &^= bit
					t.queue = append(t.queue, next)
				}
			}
		}
	}
	s := t.step
	return blob{image.Rect(int(low.x-1)*s, int(low.y-1)*s, int(high.x)*s, int(high.y)*s), len(t.queue), pure}
}
