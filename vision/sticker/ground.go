package sticker

import "math"

// correctGround corrects the shares of pixels near the sticker for the ground at their place, which is interpolated between the ground to
// their left and right, above and below. The axis alone does not give all grounds a share of 0 where they have more than two
// colours.
func (m *measurer) correctGround() {
	w, h := m.win.Dx(), m.win.Dy()
	m.groundShare, m.weight = resized(m.groundShare, w*h), resized(m.weight, w*h)
	clear(m.groundShare)
	clear(m.weight)
	r := m.win.box(m.near).Sub(m.win.Min)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		m.sweepGround(y*w, 1, r.Max.X)
		m.sweepGround(y*w+w-1, -1, w-r.Min.X)
	}
	for x := r.Min.X; x < r.Max.X; x++ {
		m.sweepGround(x, w, r.Max.Y)
		m.sweepGround(w*h-w+x, -w, h-r.Min.Y)
	}
	for i, k := range m.weight {
		if k > 0 {
			b := math.Min(m.groundShare[i]/k, mostMixed)
			m.share[i] = (m.share[i] - b) / (1 - b)
		}
	}
}

// sweepGround goes along a line of n pixels, and adds to each that is near the sticker the running mean of the last ground pixels, weighted
// by 1 over the distance from the last one.
func (m *measurer) sweepGround(i, step, n int) {
	mean, away := 0.0, math.Inf(1)
	for range n {
		switch {
		case m.near[i]:
			away++
			k := 1 / away
			m.groundShare[i] += k * mean
			m.weight[i] += k
		case away == 0:
			mean += (m.share[i] - mean) * (1.0 / ringWidth)
		default:
			mean, away = m.share[i], 0
		}
		i += step
	}
}
