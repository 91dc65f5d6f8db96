package sticker

import (
	"cmp"
	"image"
	"maps"
	"math"
	"slices"
)

// edges gathers, over whole pictures, how far colour changes beside where luma does. Along a row
// that goes from one even thing to another each of the two is a step; where it lies is told by the
// area under it, whatever the blur. The edges of one pair of things hang together, and err
// together where something lies between the two: they count as one.
//
// Rows alone are looked along: light comes from above, and what it leaves dark lies beneath
// things and not to their left or right.
type edges struct {
	pairs map[pair][]float64 // px, by the pair of things
	line  image.RGBA
	parts [3][]float64 // luma and chroma of a row, in codes
}

// pair is which of the two chromas changes, and the steps of luma and chroma.
type pair struct{ which, luma, chroma int }

const (
	edgeHalf  = 7    // px to either side of an edge that are looked at,
	edgeEnd   = 3    // of which these at either end must be even
	evenPart  = 0.15 // to this part of the step
	leastEdge = 16.0 // codes, of luma and of chroma
	pairStep  = 16   // codes within which two steps are alike
	edgeApart = 1.5  // px, beyond which luma and chroma change by different things
	rowsSeen  = 300  // of a picture
	pairLeast = 4    // edges that a pair takes
	pairMost  = 40   // and from which on more do not tell more
)

// Two things' edge has been seen to be off by pairSD on its own, px, and all those of a picture
// by edgesSD: in the scenes of make cover-follow, seeds 1 and 2.
const (
	pairSD  = 0.35
	edgesSD = 0.1
)

// see takes in a picture.
func (e *edges) see(p Picture) {
	if e.pairs == nil {
		e.pairs = map[pair][]float64{}
	}
	b := p.Bounds()
	apart := max(b.Dy()/rowsSeen, 1)
	for y := b.Min.Y + apart/2; y < b.Max.Y; y += apart {
		e.row(p, image.Rect(b.Min.X, y, b.Max.X, y+1))
	}
}

func (e *edges) row(p Picture, r image.Rectangle) {
	n := r.Dx()
	e.line = image.RGBA{Pix: fit(e.line.Pix, 4*n), Stride: 4 * n, Rect: r}
	p.Fill(&e.line)
	for k := range e.parts {
		e.parts[k] = fit(e.parts[k], n)
	}
	for i := range n {
		c := e.line.Pix[4*i : 4*i+4 : 4*i+4]
		red, green, blue := float64(c[0]), float64(c[1]), float64(c[2])
		y := lumaR*red + lumaG*green + lumaB*blue
		e.parts[0][i], e.parts[1][i], e.parts[2][i] = y, (red-y)/chromaR, (blue-y)/chromaB
	}
	bright := e.parts[0]
	for i := edgeHalf; i+edgeHalf < n; i++ {
		if math.Abs(bright[i+1]-bright[i-1]) < leastEdge/4 {
			continue
		}
		at, step, ok := stepAt(bright[i-edgeHalf : i+edgeHalf+1])
		if !ok || math.Abs(at) > 1 {
			continue
		}
		for k := 1; k <= 2; k++ {
			c, height, ok := stepAt(e.parts[k][i-edgeHalf : i+edgeHalf+1])
			if ok && math.Abs(c-at) < edgeApart {
				g := pair{k, int(math.Round(step / pairStep)), int(math.Round(height / pairStep))}
				e.pairs[g] = append(e.pairs[g], c-at)
			}
		}
		i += edgeHalf / 2
	}
}

// stepAt is where one level gives way to another, from the middle of v, and by how much; false
// where that is not all that happens.
func stepAt(v []float64) (at, step float64, ok bool) {
	first, last := v[:edgeEnd], v[len(v)-edgeEnd:]
	low, high := mean(first), mean(last)
	step = high - low
	if math.Abs(step) < leastEdge {
		return 0, 0, false
	}
	for k := range edgeEnd {
		if math.Abs(first[k]-low) > evenPart*math.Abs(step) || math.Abs(last[k]-high) > evenPart*math.Abs(step) {
			return 0, 0, false
		}
	}
	for _, x := range v {
		at += (high - x) / step
	}
	return at - float64(len(v))/2, step, true
}

func mean(v []float64) (m float64) {
	for _, x := range v {
		m += x / float64(len(v))
	}
	return m
}

// off is how far the colours lie to the right of where they belong, and the variance of that;
// infinite where no edge tells.
func (e *edges) off() (off, variance float64) {
	var all, sum, square, n float64
	// in an order of their own, so that the sums are the same every time
	order := slices.SortedFunc(maps.Keys(e.pairs), func(a, b pair) int {
		return cmp.Or(cmp.Compare(a.which, b.which), cmp.Compare(a.luma, b.luma), cmp.Compare(a.chroma, b.chroma))
	})
	for _, k := range order {
		list := e.pairs[k]
		if len(list) < pairLeast {
			continue
		}
		slices.Sort(list)
		m, w := list[len(list)/2], math.Sqrt(float64(min(len(list), pairMost)))
		all += w
		sum += w * m
		square += w * m * m
		n++
	}
	if n == 0 {
		return 0, math.Inf(1)
	}
	off = sum / all
	// what the pairs scatter by, and as if one more had been seen to be off by what is usual
	scatter := (n*(square/all-off*off) + pairSD*pairSD) / n
	return off, scatter/n + edgesSD*edgesSD
}
