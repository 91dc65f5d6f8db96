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
	sampled  subsampled
	palette  *palette
	stickers []found
	step     int
	finders  []finder // of each sticker
}

// finder finds the candidates of one sticker. It reuses its memory.
type finder struct {
	measurer
	sampled subsampled
	blobs   []blob
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
	s.updatePalette()
	s.step = max(1, int(least/samples))
	return s
}

// load subsamples a picture.
func (s *scanner) load(p Picture) { s.sampled.load(p, s.palette, s.step) }

// scan returns the candidates of every sticker in a picture. It looks for all stickers at once, since the decoder leaves a processor idle where
// there are many blobs.
func (s *scanner) scan(p Picture) [][]candidate {
	s.load(p)
	out := make([][]candidate, len(s.stickers))
	var all sync.WaitGroup
	for k := range s.stickers {
		all.Go(func() {
			s.finders[k].sampled.cells = s.sampled.cells
			out[k] = s.finders[k].candidates(p, &s.stickers[k], k)
		})
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
func (s *finder) candidates(p Picture, f *found, k int) (out []candidate) {
	whole := f.area / float64(s.sampled.step*s.sampled.step) // cells
	s.blobs = s.sampled.blobs(k, whole/8, 8*whole+4, s.blobs)
	if len(s.blobs) > mostBlobs {
		unlike := func(b blob) float64 { return math.Abs(math.Log((float64(b.pure) + 0.5) / (whole + 0.5))) }
		slices.SortStableFunc(s.blobs, func(a, b blob) int { return cmp.Compare(unlike(a), unlike(b)) })
		s.blobs = s.blobs[:mostBlobs]
	}
	for _, b := range s.blobs {
		if c, ok := s.measure(p, &f.ink, b.box); ok && !s.listed(out, &c) {
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
func (s *finder) listed(list []candidate, c *candidate) bool {
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

// subsampled holds the cells of a subsampled picture that have an ink, in the order of the rows.
type subsampled struct {
	cells
	runs  []run
	found []blob
}

type cells struct {
	palette *palette
	step    int // px from cell to cell
	size    int // number of all cells
	inked   []take.Sample
}

// run is a run of cells of one row.
type run struct {
	y, from, to int32 // to is the last column
	up          int32 // a run of the same blob that comes before it; itself for the blob's first one
	blob        int32
	pure        int32 // number of cells
}

// load looks up the inks of a picture's samples.
func (t *subsampled) load(p Picture, inks *palette, step int) {
	size := p.Bounds().Size().Div(step)
	t.palette, t.step, t.size = inks, step, size.X*size.Y
	t.inked = p.Find(step, &inks.all, t.inked[:0])
}

// share returns the part of the picture that has an ink, 0 to 1.
func (t *subsampled) share(ink int) float64 {
	n := 0
	for _, c := range t.inked {
		n += int(t.palette.inks[c.Colour] >> ink & 1)
	}
	return float64(n) / float64(max(t.size, 1))
}

// blobs lists the blobs of an ink with least to most cells, in the order of the rows, and then the connected parts of nearly unmixed cells
// of all larger blobs. Cells that touch at a corner are connected.
func (t *subsampled) blobs(ink int, least, most float64, out []blob) []blob {
	out = out[:0]
	list := func() {
		for _, b := range t.found {
			if n := float64(b.cells); n >= least && n <= most {
				out = append(out, b)
			}
		}
	}
	bit := uint64(1) << ink
	t.connect(bit, func(c take.Sample) bool { return t.palette.inks[c.Colour]&bit != 0 })
	if list(); !slices.ContainsFunc(t.found, func(b blob) bool { return float64(b.cells) > most }) {
		return out
	}
	runs, found, at := slices.Clone(t.runs), slices.Clone(t.found), 0
	t.connect(bit, func(c take.Sample) bool {
		if t.palette.pure[c.Colour]&bit == 0 {
			return false
		}
		for runs[at].y < c.Y || runs[at].to < c.X {
			at++
		}
		return float64(found[runs[at].blob].cells) > most
	})
	list()
	return out
}

// connect finds the blobs of the cells that has accepts: the runs in each row, then those that touch one in the row above.
func (t *subsampled) connect(bit uint64, has func(take.Sample) bool) {
	t.runs, t.found = t.runs[:0], t.found[:0]
	for _, c := range t.inked {
		if !has(c) {
			continue
		}
		if n := len(t.runs) - 1; n < 0 || t.runs[n].y != c.Y || t.runs[n].to != c.X-1 {
			t.runs = append(t.runs, run{y: c.Y, from: c.X, up: int32(len(t.runs))})
		}
		r := &t.runs[len(t.runs)-1]
		r.to = c.X
		if t.palette.pure[c.Colour]&bit != 0 {
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
			x, y := int(r.from)*t.step, int(r.y)*t.step
			t.found = append(t.found, blob{box: image.Rect(x, y, x, y)})
		} else {
			r.blob = t.runs[r.up].blob
		}
		b := &t.found[r.blob]
		s := t.step
		b.box.Min.X, b.box.Max.X = min(b.box.Min.X, int(r.from)*s), max(b.box.Max.X, int(r.to+1)*s)
		b.box.Max.Y = int(r.y+1) * s
		b.cells += int(r.to - r.from + 1)
		b.pure += int(r.pure)
	}
}
