package sticker

import (
	"image"
	"math"

	"ecart/geometry"
)

// spot is a place where the picture may show a sticker.
type spot struct {
	at     geometry.Point
	radius float64
	height float64 // how much more of the colour there is within than about it, 0 to 1
}

// scoreMap is how well each pixel of a window fits a colour, with sums over rectangles.
type scoreMap struct {
	image.Rectangle
	score  []float32
	best   float32 // score
	summed bool
	sums   []float32 // of score, one column and one row more; row by row within float32's reach
}

func (m *scoreMap) fill(w *thinned, t *target) {
	m.Rectangle, m.summed = w.Rectangle, false
	m.score = fit(m.score, len(w.pix))
	m.best = t.scoresCoded(w.pix, m.score)
}

func (m *scoreMap) fillLight(w *window, t *target) {
	m.Rectangle, m.summed = w.Rectangle, false
	m.score = fit(m.score, len(w.light))
	m.best = t.scores(w.light, m.score)
}

// sum fills the sums, where they are not yet.
func (m *scoreMap) sum() {
	if m.summed {
		return
	}
	m.summed = true
	w, h := m.Dx(), m.Dy()
	m.sums = fit(m.sums, (w+1)*(h+1))
	clear(m.sums[:w+1])
	for y := range h {
		var line float32
		m.sums[(y+1)*(w+1)] = 0
		row, above := m.sums[(y+1)*(w+1):], m.sums[y*(w+1):]
		for x, s := range m.score[y*w : y*w+w] {
			line += s
			row[x+1] = above[x+1] + line
		}
	}
}

// within is the sum of the score over the square of half side r about column x and row y, and its
// area in the window.
func (m *scoreMap) within(x, y, r int) (sum, area float32) {
	x0, y0, x1, y1 := max(x-r, 0), max(y-r, 0), min(x+r+1, m.Dx()), min(y+r+1, m.Dy())
	if x0 >= x1 || y0 >= y1 {
		return 0, 0
	}
	w := m.Dx() + 1
	return m.sums[y1*w+x1] - m.sums[y1*w+x0] - m.sums[y0*w+x1] + m.sums[y0*w+x0], float32((x1 - x0) * (y1 - y0))
}

// leastHeight is what the middle of a sticker must stand out by from what is about it. A sticker
// half on a mat of its own colour still does.
const leastHeight = 0.3

// leastScore is that of a pixel in the middle of a sticker.
const leastScore = 0.3

// spots lists the places where a disc of about the radius, in pixels of the map, stands out from
// what is about it: a wall or a mat of the very colour does not. Best first, at most most.
func (m *scoreMap) spots(radius float64, most int, found []spot) []spot {
	found = found[:0]
	if m.best < leastScore {
		return found
	}
	m.sum()
	w, h := m.Dx(), m.Dy()
	in := max(int(math.Round(0.7*radius)), 0)
	out := int(math.Ceil(1.5*radius)) + 1
	for y := range h {
		for x := range w {
			if m.score[y*w+x] < leastScore {
				continue
			}
			s, a := m.within(x, y, in)
			if s < 0.4*a {
				continue
			}
			whole, area := m.within(x, y, out)
			// the disc itself reaches beyond its square
			disc := float32(math.Pi*radius*radius) - a
			rest := (whole - s - disc*s/a) / max(area-a-disc, 1)
			height := float64(s/a - max(rest, 0))
			if height < leastHeight {
				continue
			}
			found = place(found, spot{geometry.Point{X: float64(m.Min.X + x), Y: float64(m.Min.Y + y)}, radius, height}, most)
		}
	}
	for i := range found {
		m.settle(&found[i], 1.35*radius+1)
	}
	return found
}

// place puts a spot into the list unless a better one is near, and drops worse ones near it.
func place(list []spot, s spot, most int) []spot {
	keep := list[:0]
	for i, o := range list {
		if math.Hypot(o.at.X-s.at.X, o.at.Y-s.at.Y) < 1.2*s.radius+1 {
			if o.height >= s.height {
				return append(keep, list[i:]...)
			}
			continue
		}
		keep = append(keep, o)
	}
	i := len(keep)
	keep = append(keep, s)
	for ; i > 0 && keep[i-1].height < s.height; i-- {
		keep[i], keep[i-1] = keep[i-1], keep[i]
	}
	if len(keep) > most {
		keep = keep[:most]
	}
	return keep
}

// settle moves a spot to the middle of the score within reach of it, and returns the score there.
func (m *scoreMap) settle(s *spot, reach float64) (sum float64) {
	for range 5 {
		var sx, sy float64
		sum = 0
		y0, y1 := max(int(s.at.Y-reach), m.Min.Y), min(int(s.at.Y+reach)+2, m.Max.Y)
		x0, x1 := max(int(s.at.X-reach), m.Min.X), min(int(s.at.X+reach)+2, m.Max.X)
		for y := y0; y < y1; y++ {
			dy := float64(y) - s.at.Y
			for x := x0; x < x1; x++ {
				dx := float64(x) - s.at.X
				if k := float64(m.score[(y-m.Min.Y)*m.Dx()+x-m.Min.X]); k > 0 && dx*dx+dy*dy <= reach*reach {
					sum += k
					sx += k * dx
					sy += k * dy
				}
			}
		}
		if sum == 0 {
			return 0
		}
		s.at.X += sx / sum
		s.at.Y += sy / sum
		if math.Abs(sx)+math.Abs(sy) < 0.1*sum {
			break
		}
	}
	return sum
}
