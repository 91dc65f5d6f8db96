package figure

import (
	"image/color"
	"math"

	"ecart/cmd/internal/hand"
	"ecart/cmd/internal/reading"
)

// notch lays out the notch for what is asked and the word over it.
func (k *ruler) notch(r *reading.Reading, has bool, t float64, l *hand.Letters) {
	if !has {
		return
	}
	ask := r.AngleAt(0)
	if ask < k.From || ask > k.To {
		return
	}
	x := k.x(ask)
	k.Asked = true
	k.Notch = [2]point{{x, overNotch * t}, {x, k.Box.Y1 + tickLong*t}}
	word := hand.AskedWords(r.Skill.ThresholdDeg, r.Skill.AtMost)
	half := l.Width(hand.Sans, t, word) / 2
	k.Labels = append(k.Labels, label{word, min(max(x, half), k.Width-half), 0.85 * t, 0.5, t, hand.Sans, hand.Ink})
}

// ticks lays out the degrees: fine strokes, and figures at the bands' edges first,
// then at round angles where there is room.
func (k *ruler) ticks(r *reading.Reading, bands []hand.Band, t float64, l *hand.Letters) {
	px := k.Width / (k.To - k.From)
	for _, s := range []struct{ step, long float64 }{{1, 0.15}, {5, 0.24}, {10, tickLong}} {
		if s.step*px < 0.13*t {
			continue
		}
		for d := math.Ceil(k.From/s.step) * s.step; d <= k.To; d += s.step {
			k.Ticks = append(k.Ticks, tick{k.x(d), s.long * t})
		}
	}
	var taken [][2]float64
	put := func(d float64, c color.NRGBA) {
		word := hand.Deg(d)
		x, half := k.x(d), l.Width(hand.Sans, t, word)/2
		if x < half-0.3*t || x > k.Width-half+0.3*t {
			return
		}
		for _, o := range taken {
			if x-half < o[1]+0.55*t && x+half > o[0]-0.55*t {
				return
			}
		}
		taken = append(taken, [2]float64{x - half, x + half})
		k.Labels = append(k.Labels, label{word, x, k.Box.Y1 + underTicks*t, 0.5, t, hand.Sans, c})
	}
	if k.Asked {
		put(k.From+(k.To-k.From)*k.Notch[0].X/k.Width, hand.Ink)
	}
	for _, b := range bands {
		for _, p := range b.Parts {
			for _, e := range p {
				if hand.Finite(e) && e >= k.From && e <= k.To {
					put(e, hand.Ink)
				}
			}
		}
	}
	// Round figures, the closest that stand well apart.
	step := 1.0
	for _, s := range []float64{1, 2, 5, 10, 20, 30, 45, 90, 180} {
		if step = s; s*px >= l.Width(hand.Sans, t, "000")+1.6*t {
			break
		}
	}
	for d := math.Ceil(k.From/step) * step; d <= k.To; d += step {
		put(d, hand.Faint)
	}
}

// chances writes each band's deduction and probability under it, or, where the
// bands are too narrow for that, in a list with a sample of the hatching.
func (k *ruler) chances(bands []hand.Band, t float64, l *hand.Letters) {
	if len(bands) == 0 {
		return
	}
	likely := 0
	for i, b := range bands {
		if b.Probability > bands[likely].Probability {
			likely = i
		}
	}
	colour := func(i int) color.NRGBA {
		if i == likely {
			return hand.Ink
		}
		return hand.Asked
	}
	if cells, ok := k.cells(bands, t, l); ok {
		y, most := k.Height+1.0*t, 0
		for _, c := range cells {
			most = max(most, len(c.lines))
		}
		for i, c := range cells {
			for j, line := range append(c.lines, percent(bands[i].Probability)) {
				k.Labels = append(k.Labels, label{line, c.x, y + float64(j)*lineStep*t, 0.5, t, hand.Sans, colour(i)})
			}
		}
		k.Height = y + (float64(most)*lineStep+0.3)*t
		return
	}
	y := k.Height + 1.05*t
	for i, b := range bands {
		prob := percent(b.Probability)
		k.Keys = append(k.Keys, key{box{0, y - 0.76*t, 1.7 * t, y + 0.06*t}, b.Hatch(t)})
		k.Labels = append(k.Labels, label{prob, k.Width, y, 1, t, hand.Sans, colour(i)})
		room := k.Width - 2.2*t - l.Width(hand.Sans, t, prob) - 0.6*t
		for _, line := range l.Wrap(hand.Sans, t, b.Words, room, 3) {
			k.Labels = append(k.Labels, label{line, 2.2 * t, y, 0, t, hand.Sans, colour(i)})
			y += lineStep * t
		}
		y += 0.12 * t
	}
	k.Height = y - 0.7*t
}

// cell is a band's words under the ruler, centred at x.
type cell struct {
	x, half float64
	lines   []string
}

// cells places the bands' words side by side, each under its own band; false where
// they would not stand clear of each other there.
func (k *ruler) cells(bands []hand.Band, t float64, l *hand.Letters) ([]cell, bool) {
	out := make([]cell, len(bands))
	for i, b := range bands {
		// The widest visible part is the band's place.
		lo, hi := 0.0, 0.0
		for _, p := range b.Parts {
			a, c := max(0, k.x(max(p[0], k.From))), min(k.Width, k.x(min(p[1], k.To)))
			if c-a > hi-lo {
				lo, hi = a, c
			}
		}
		c := cell{x: (lo + hi) / 2, lines: l.Wrap(hand.Sans, t, b.Words, max(6*t, hi-lo), 3)}
		for _, w := range append([]string{percent(b.Probability)}, c.lines...) {
			c.half = max(c.half, l.Width(hand.Sans, t, w)/2)
		}
		c.x = min(max(c.x, c.half), k.Width-c.half)
		if c.x < lo || c.x > hi {
			return nil, false
		}
		for _, o := range out[:i] {
			if math.Abs(c.x-o.x) < c.half+o.half+0.5*t {
				return nil, false
			}
		}
		out[i] = c
	}
	return out, true
}
