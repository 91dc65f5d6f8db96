package sticker

import (
	"cmp"
	"math"
	"slices"
)

// scanner lists what may be each of the stickers in a picture.
type scanner struct {
	measurer
	thin    thinned
	palette *palette
	of      []found
	step    int
	blobs   []blob
}

// samples is how many samples the thinned picture has across a sticker's radius.
const samples = 2.6

// mostBlobs bounds what is measured of a sticker's ink in a frame, and mostCandidates what is kept of that, so that a frame takes bounded
// time and memory. Where there is more, something of the kind is everywhere. A quarter of both changed no mark of three drawn clips and a
// real one.
const (
	mostBlobs      = 2048
	mostCandidates = 256
)

func newScanner(of []found) *scanner {
	s := &scanner{of: of}
	least := math.Inf(1)
	for i := range of {
		least = math.Min(least, of[i].radius())
	}
	s.dye()
	s.step = max(1, int(least/samples))
	return s
}

// load looks at a picture.
func (s *scanner) load(p Picture) { s.thin.load(p, s.palette, s.step) }

// scan lists the candidates of every sticker.
func (s *scanner) scan(p Picture) [][]candidate {
	s.load(p)
	out := make([][]candidate, len(s.of))
	for k := range s.of {
		out[k] = s.candidates(p, k)
	}
	return out
}

// dye takes the inks as they are now.
func (s *scanner) dye() {
	var inks []*ink
	for i := range s.of {
		inks = append(inks, &s.of[i].ink)
	}
	s.palette = newPalette(inks)
}

// candidates measures what may be sticker k. Where there is a lot of its ink, that is what is most like it by the cells that are nearly
// unmixed; of this, what looks most like the sticker in its seed's frame is kept.
func (s *scanner) candidates(p Picture, k int) (out []candidate) {
	f := &s.of[k]
	whole := f.area / float64(s.step*s.step) // cells
	s.blobs = s.thin.blobs(k, whole/8, 8*whole+4, s.blobs)
	if len(s.blobs) > mostBlobs {
		unlike := func(b blob) float64 { return math.Abs(math.Log((float64(b.pure) + 0.5) / (whole + 0.5))) }
		slices.SortStableFunc(s.blobs, func(a, b blob) int { return cmp.Compare(unlike(a), unlike(b)) })
		s.blobs = s.blobs[:mostBlobs]
	}
	for _, b := range s.blobs {
		if c, ok := s.measure(p, &f.ink, b.box); ok && c.joined <= mostJoined && !s.known(out, &c) {
			out = append(out, c)
		}
	}
	if len(out) > mostCandidates {
		like := newLook(&f.candidate)
		odds := func(c *candidate) float64 { o, _ := like.odds(c, lightApart); return o }
		slices.SortStableFunc(out, func(a, b candidate) int { return cmp.Compare(odds(&b), odds(&a)) })
		out = out[:mostCandidates]
	}
	return out
}

func (s *scanner) known(list []candidate, c *candidate) bool {
	for i := range list {
		if list[i].at.Sub(c.at).Norm() < 0.5*c.radius() {
			return true
		}
	}
	return false
}
