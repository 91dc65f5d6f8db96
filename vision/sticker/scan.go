package sticker

import (
	"cmp"
	"image"
	"math"
	"slices"
	"sync"

	"ecart/vision/take"
)

// scanner lists the candidates of each sticker in a picture.
type scanner struct {
	cells
	stickers []found
	finders  []finder // of each sticker
}

// finder finds the candidates of one sticker. It reuses its memory.
type finder struct {
	measurer
	joiner
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
	s := &scanner{stickers: stickers, finders: make([]finder, len(stickers))}
	least := math.Inf(1)
	for i := range stickers {
		least = math.Min(least, stickers[i].radius())
	}
	s.step = max(1, int(least/samples))
	s.updatePalette()
	return s
}

// scan returns the candidates of every sticker in a picture. It looks for all stickers at once, since the decoder leaves a processor idle where
// there are many blobs.
func (s *scanner) scan(p Picture) [][]candidate {
	s.load(p)
	out := make([][]candidate, len(s.stickers))
	var all sync.WaitGroup
	for k := range s.stickers {
		all.Go(func() { out[k] = s.finders[k].candidates(p, &s.cells, &s.stickers[k], k) })
	}
	all.Wait()
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

// candidates measures the blobs of ink k that may be its sticker. Where there are more than mostBlobs, it measures those whose number of nearly
// unmixed cells is nearest to the sticker's. Of more than mostCandidates it keeps those that look most like the sticker in its seed's frame.
func (s *finder) candidates(p Picture, t *cells, f *found, k int) (out []candidate) {
	whole := f.area / float64(t.step*t.step) // cells
	blobs := s.blobs(t, k, whole/8, 8*whole+4)
	if len(blobs) > mostBlobs {
		unlike := func(b blob) float64 { return math.Abs(math.Log((float64(b.pure) + 0.5) / (whole + 0.5))) }
		slices.SortStableFunc(blobs, func(a, b blob) int { return cmp.Compare(unlike(a), unlike(b)) })
		blobs = blobs[:mostBlobs]
	}
	for _, b := range blobs {
		c, ok := s.measure(p, &f.ink, b.box)
		if ok && !slices.ContainsFunc(out, func(o candidate) bool { return o.at.Sub(c.at).Norm() < 0.5*c.radius() }) { // no other blob gave it
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

// blob is a connected set of cells of one ink in the subsampled picture.
type blob struct {
	box   image.Rectangle // px of the picture
	cells int
	pure  int // how many of the cells are nearly unmixed with the ground
}

// cells are the cells of a subsampled picture that have an ink, in the order of the rows.
type cells struct {
	palette *palette
	step    int // px from cell to cell
	size    int // number of all cells
	inked   []take.Sample
}

// joiner joins cells to blobs. It reuses its memory.
type joiner struct {
	runs  []run
	found []blob
}

// run is a run of cells of one row.
type run struct {
	y, from, to int32 // to is the last column
	up          int32 // a run of the same blob that comes before it; itself for the blob's first one
	blob        int32
	pure        int32 // number of cells
}

// load looks up the inks of a picture's samples.
func (t *cells) load(p Picture) {
	size := p.Bounds().Size().Div(t.step)
	t.size = size.X * size.Y
	t.inked = p.Find(t.step, &t.palette.all, t.inked[:0])
}

// share returns the part of the picture that has an ink, 0 to 1.
func (t *cells) share(ink int) float64 {
	n := 0
	for _, c := range t.inked {
		n += int(t.palette.inks[c.Colour] >> ink & 1)
	}
	return float64(n) / float64(max(t.size, 1))
}

// blobs lists the blobs of an ink with least to most cells, in the order of the rows, and then the connected parts of nearly unmixed cells
// of all larger blobs. Cells that touch at a corner are connected.
func (t *joiner) blobs(c *cells, ink int, least, most float64) (out []blob) {
	bit := uint64(1) << ink
	t.connect(c, bit, func(s take.Sample) bool { return c.palette.inks[s.Colour]&bit != 0 })
	found := slices.Clone(t.found)
	if slices.ContainsFunc(found, func(b blob) bool { return float64(b.cells) > most }) {
		runs, at := slices.Clone(t.runs), 0
		t.connect(c, bit, func(s take.Sample) bool {
			if c.palette.pure[s.Colour]&bit == 0 {
				return false
			}
			for runs[at].y < s.Y || runs[at].to < s.X {
				at++
			}
			return float64(found[runs[at].blob].cells) > most
		})
		found = append(found, t.found...)
	}
	return slices.DeleteFunc(found, func(b blob) bool { return float64(b.cells) < least || float64(b.cells) > most })
}

// connect finds the blobs of the cells that has accepts: the runs in each row, then those that touch one in the row above.
func (t *joiner) connect(c *cells, bit uint64, has func(take.Sample) bool) {
	t.runs, t.found = t.runs[:0], t.found[:0]
	for _, s := range c.inked {
		if !has(s) {
			continue
		}
		if n := len(t.runs) - 1; n < 0 || t.runs[n].y != s.Y || t.runs[n].to != s.X-1 {
			t.runs = append(t.runs, run{y: s.Y, from: s.X, up: int32(len(t.runs))})
		}
		r := &t.runs[len(t.runs)-1]
		r.to = s.X
		if c.palette.pure[s.Colour]&bit != 0 {
			r.pure++
		}
	}
	first := func(n int32) int32 {
		for t.runs[n].up != n {
			n, t.runs[n].up = t.runs[n].up, t.runs[t.runs[n].up].up
		}
		return n
	}
	above := 0 // the first run that may touch the next one
	for n := range t.runs {
		r := &t.runs[n]
		for t.runs[above].y < r.y-1 || t.runs[above].y < r.y && t.runs[above].to < r.from-1 {
			above++
		}
		for k := above; t.runs[k].y < r.y && t.runs[k].from <= r.to+1; k++ {
			a, b := first(int32(k)), first(int32(n))
			t.runs[max(a, b)].up = min(a, b)
		}
	}
	for n := range t.runs {
		r := &t.runs[n]
		if r.up = first(int32(n)); r.up == int32(n) {
			r.blob = int32(len(t.found))
			x, y := int(r.from)*c.step, int(r.y)*c.step
			t.found = append(t.found, blob{box: image.Rect(x, y, x, y)})
		} else {
			r.blob = t.runs[r.up].blob
		}
		b := &t.found[r.blob]
		s := c.step
		b.box.Min.X, b.box.Max.X = min(b.box.Min.X, int(r.from)*s), max(b.box.Max.X, int(r.to+1)*s)
		b.box.Max.Y = int(r.y+1) * s
		b.cells += int(r.to - r.from + 1)
		b.pure += int(r.pure)
	}
}
