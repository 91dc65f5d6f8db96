package sticker

import "math"

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
const samples = 3.5

// mostCandidates bounds the candidates of a sticker in a frame.
const mostCandidates = 16

func newScanner(of []found) *scanner {
	s := &scanner{of: of}
	least := math.Inf(1)
	var inks []*ink
	for i := range of {
		least = math.Min(least, of[i].radius())
		inks = append(inks, &of[i].ink)
	}
	s.palette = newPalette(inks)
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

func (s *scanner) candidates(p Picture, k int) (out []candidate) {
	f := &s.of[k]
	s.blobs = s.thin.blobs(k, s.blobs)
	cell := float64(s.step * s.step)
	for _, b := range s.blobs {
		if float64(b.cells)*cell < f.area/8 || b.cells > 1<<20 || float64(b.cells)*cell > 8*f.area+4*cell {
			continue
		}
		c, ok := s.measure(p, &f.ink, b.box)
		if !ok || c.joined > mostJoined || s.known(out, &c) {
			continue
		}
		if out = append(out, c); len(out) == mostCandidates {
			break
		}
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
