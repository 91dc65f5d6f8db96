package chart

import (
	"image/color"
	"math"

	"ecart/cmd/internal/hand"
)

// The parts of a ruler from top to bottom, in text sizes.
const (
	overNotch  = 1.15 // for the word at the notch
	curveHigh  = 2.3
	bandHigh   = 0.95
	underTicks = 1.32 // from the band's edge to the figures' base line
	lineStep   = 1.16
	headHigh   = 2.0
)

// head writes the heading: what is shown, of whom, and at the right the value with
// its uncertainty. It returns where the rest begins.
func (s *sheet) head(title, who, value, plus string) float64 {
	base, x := margin+1.05*text, s.W-margin
	if plus != "" {
		x -= s.text(label{plus, x, base, 1, 1.2 * text, hand.Serif, hand.Faint}) + 0.35*text
	}
	if value != "" {
		x -= s.text(label{value, x, base, 1, 1.6 * text, hand.Serif, hand.Ink}) + 0.8*text
	}
	room := x - margin
	title = s.l.Cut(hand.Italic, 1.35*text, hand.Clean(title), room)
	used := s.text(label{title, margin, base, 0, 1.35 * text, hand.Italic, hand.Asked}) + 0.6*text
	if who = hand.Clean(who); who != "" && room-used > 2*text {
		s.text(label{s.l.Cut(hand.Sans, text, who, room-used), margin + used, base, 0, text, hand.Sans, hand.Ink})
	}
	return margin + headHigh*text
}

// foot writes sentences below the drawing and returns where they end.
func (s *sheet) foot(y float64, words string, c color.NRGBA, most int) float64 {
	lines := s.l.Wrap(hand.Sans, text, hand.Clean(words), s.W-2*margin, most)
	if len(lines) == 0 {
		return y
	}
	for _, l := range lines {
		y += lineStep * text
		s.text(label{l, margin, y, 0, text, hand.Sans, c})
	}
	return y + 0.3*text
}

// end closes the sheet below y.
func (s *sheet) end(y float64) { s.H = math.Ceil(y + margin) }

// hang draws the strokes of a lying ruler from its edge at y downwards.
func (s *sheet) hang(k hand.Scale, y float64) {
	var ls [][]point
	for _, g := range graduations(k) {
		ls = append(ls, []point{{k.At(g.At), y}, {k.At(g.At), y + g.Long}})
	}
	s.lines(pen{colour: hand.Faint, width: 0.035 * text}, ls)
}

// figures writes degrees under a lying ruler: must first, in ink, then round ones
// where there is room.
func (s *sheet) figures(k hand.Scale, y float64, must ...float64) {
	var taken [][2]float64
	put := func(d float64, c color.NRGBA) {
		if !hand.Finite(d) || !k.In(d) {
			return
		}
		x, half := k.At(d), s.l.Width(hand.Sans, text, hand.Deg(d))/2
		if x < k.A+half-0.3*text || x > k.B-half+0.3*text {
			return
		}
		for _, o := range taken {
			if x-half < o[1]+0.55*text && x+half > o[0]-0.55*text {
				return
			}
		}
		taken = append(taken, [2]float64{x - half, x + half})
		s.text(label{hand.Deg(d), x, y, 0.5, text, hand.Sans, c})
	}
	for _, d := range must {
		put(d, hand.Ink)
	}
	for _, d := range rounds(k, s.l.Width(hand.Sans, text, "000")+1.6*text) {
		put(d, hand.Faint)
	}
}

// stand draws the strokes of an upright ruler from its edge at x to the left, and
// its figures.
func (s *sheet) stand(k hand.Scale, x float64, must ...float64) {
	var ls [][]point
	for _, g := range graduations(k) {
		ls = append(ls, []point{{x, k.At(g.At)}, {x - g.Long, k.At(g.At)}})
	}
	s.lines(pen{colour: hand.Faint, width: 0.035 * text}, ls)
	var taken []float64
	put := func(d float64, c color.NRGBA) {
		if !hand.Finite(d) || !k.In(d) {
			return
		}
		for _, y := range taken {
			if math.Abs(k.At(d)-y) < 1.2*text {
				return
			}
		}
		taken = append(taken, k.At(d))
		s.text(label{hand.Deg(d), x - (tickLong+0.25)*text, k.At(d) + 0.35*text, 1, text, hand.Sans, c})
	}
	for _, d := range must {
		put(d, hand.Ink)
	}
	for _, d := range rounds(k, 2.2*text) {
		put(d, hand.Faint)
	}
}

// notch marks what is asked on a lying ruler, from y0 to y1.
func (s *sheet) notch(x, y0, y1 float64) {
	s.line(pen{colour: hand.Ink, width: 0.08 * text}, point{x, y0}, point{x, y1})
	s.fill(hand.Ink, []point{{x - 0.2*text, y0 - 0.04*text}, {x + 0.2*text, y0 - 0.04*text}, {x, y0 + 0.3*text}})
}

var dashed = []float64{0.34 * text, 0.24 * text}
var dotted = []float64{0.08 * text, 0.22 * text}

// bar draws an interval along k at the given place across: a bar with a foot at
// either end, an arrow where it goes on beyond the scale, and a dotted line over the
// whole of the scale where it is not known.
func (s *sheet) bar(k hand.Scale, across float64, iv [2]float64, c color.NRGBA, thick float64) {
	upright := k.B < k.A
	at := func(along, off float64) point {
		if upright {
			return point{across + off, along}
		}
		return point{along, across + off}
	}
	if !known(iv) {
		s.line(pen{colour: c, width: thick, dash: dotted}, at(k.A, 0), at(k.B, 0))
		return
	}
	if iv[1] <= k.From || iv[0] >= k.To {
		return
	}
	lo, hi := k.At(k.Keep(iv[0])), k.At(k.Keep(iv[1]))
	pts := []point{at(lo, -thick/2), at(hi, -thick/2), at(hi, thick/2), at(lo, thick/2)}
	s.fill(c, pts)
	foot := 0.23 * text
	way := 1.0 // along the scale, towards its end
	if upright {
		way = -1
	}
	for i, e := range []float64{lo, hi} {
		beyond := i == 0 && iv[0] < k.From || i == 1 && iv[1] > k.To
		if !beyond {
			s.line(pen{colour: c, width: 0.07 * text}, at(e, -foot), at(e, foot))
			continue
		}
		out := way
		if i == 0 {
			out = -way
		}
		s.fill(c, []point{at(e-0.1*text*out, -foot), at(e+0.5*text*out, 0), at(e-0.1*text*out, foot)})
	}
}
