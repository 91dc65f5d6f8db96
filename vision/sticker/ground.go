package sticker

import (
	"image"
	"math"
)

// correctGround corrects the shares of pixels near the sticker for the ground at their place, which is interpolated between the ground to
// their left and right, above and below. The axis alone does not give all grounds a share of 0 where they have more than two
// colours. The pixels near the sticker are within r.
func (m *measurer) correctGround(r image.Rectangle, w, h int) {
	m.groundShare, m.weight = resized(m.groundShare, w*h), resized(m.weight, w*h)
	clear(m.groundShare)
	clear(m.weight)
	first := r.Min.Y*w + r.Min.X
	m.sweepGround(r.Min.Y*w, 1, r.Max.X, w, r.Dy())
	m.sweepGround(r.Min.Y*w+w-1, -1, w-r.Min.X, w, r.Dy())
	m.sweepGround(r.Min.X, w, r.Max.Y, 1, r.Dx())
	m.sweepGround((h-1)*w+r.Min.X, -w, h-r.Min.Y, 1, r.Dx())
	for ; first < r.Max.Y*w; first += w {
		for i := first; i < first+r.Dx(); i++ {
			if k := m.weight[i]; k > 0 {
				b := math.Min(m.groundShare[i]/k, mostMixed)
				m.share[i] = (m.share[i] - b) / (1 - b)
			}
		}
	}
}

// sweepGround goes along n pixels of each of several lines, all at once, and adds to each pixel that is near the sticker the running mean of the
// last ground pixels, weighted by 1 over their distance.
func (m *measurer) sweepGround(from, step, n, apart, lines int) {
	m.lines = resized(m.lines, lines)
	for k := range m.lines {
		m.lines[k] = line{0, math.Inf(1)}
	}
	for range n {
		i := from
		for k := range m.lines {
			switch l := &m.lines[k]; {
			case m.near[i]:
				l.away++
				m.groundShare[i] += l.mean / l.away
				m.weight[i] += 1 / l.away
			case l.away == 0:
				l.mean += (m.share[i] - l.mean) / ringWidth
			default:
				l.mean, l.away = m.share[i], 0
			}
			i += apart
		}
		from += step
	}
}

// line is the running mean of the ground's shares along a line of pixels, and the number of pixels since the last ground.
type line struct{ mean, away float64 }
