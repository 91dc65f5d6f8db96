package figure

import (
	"image"
	"math"

	"ecart/cmd/internal/hand"
	"ecart/cmd/internal/reading"
)

// ruler draws k with its top left corner at the given place.
func (s *sheet) ruler(k ruler, at point, t float64) {
	move := func(b box) box { return box{b.X0 + at.X, b.Y0 + at.Y, b.X1 + at.X, b.Y1 + at.Y} }
	edge := pen{colour: hand.Asked, width: 0.05 * t}
	for _, z := range k.Zones {
		s.hatch(move(z.Box), z.Hatch, t)
		b := move(z.Box)
		s.line(edge, point{b.X0, b.Y0}, point{b.X1, b.Y0})
		s.line(edge, point{b.X0, b.Y1}, point{b.X1, b.Y1})
		if !z.OpenL {
			s.line(edge, point{b.X0, b.Y0}, point{b.X0, b.Y1})
		}
		if !z.OpenR {
			s.line(edge, point{b.X1, b.Y0}, point{b.X1, b.Y1})
		}
	}
	if len(k.Zones) == 0 {
		b := move(k.Box)
		s.line(pen{colour: hand.Ink, width: 0.05 * t}, point{b.X0, b.Y1}, point{b.X1, b.Y1})
	}
	for _, c := range k.Ticks {
		top := point{at.X + c.X, at.Y + k.Box.Y1}
		s.line(pen{colour: hand.Faint, width: 0.035 * t}, top, top.add(point{0, c.Len}))
	}
	pts := make([]point, len(k.Curve))
	for i, p := range k.Curve {
		pts[i] = p.add(at)
	}
	if len(pts) > 0 {
		s.fill(hand.Thin(hand.Measured, 0.26), pts)
		s.polyline(pen{colour: hand.Measured, width: 0.05 * t}, pts)
	}
	if k.Value[0] != k.Value[1] {
		s.line(pen{colour: hand.Measured, width: 0.06 * t}, k.Value[0].add(at), k.Value[1].add(at))
	}
	if k.Bar.width() > 0 {
		s.bar(move(k.Bar), t)
	}
	if k.Asked {
		a, b := k.Notch[0].add(at), k.Notch[1].add(at)
		s.line(pen{colour: hand.Ink, width: 0.08 * t}, a, b)
		s.fill(hand.Ink, []point{{a.X - 0.2*t, a.Y - 0.04*t}, {a.X + 0.2*t, a.Y - 0.04*t}, {a.X, a.Y + 0.3*t}})
	}
	for _, y := range k.Keys {
		b := move(y.Box)
		s.hatch(b, y.Hatch, t)
		s.outline(edge, []point{{b.X0, b.Y0}, {b.X1, b.Y0}, {b.X1, b.Y1}, {b.X0, b.Y1}})
	}
	for _, l := range k.Labels {
		l.X, l.Y = l.X+at.X, l.Y+at.Y
		s.text(l, 0)
	}
}

func (s *sheet) hatch(b box, spacing, t float64) {
	s.rect(hand.White, b)
	if spacing <= 0 {
		return
	}
	for _, l := range hand.HatchLines[point](b.X0, b.Y0, b.X1, b.Y1, spacing) {
		s.line(pen{colour: hand.Asked, width: hand.HatchPen * t}, l[0], l[1])
	}
}

// bar draws the interval: a bar with a foot at either end.
func (s *sheet) bar(b box, t float64) {
	s.rect(hand.Paper, box{b.X0 - 0.03*t, b.Y0 - 0.05*t, b.X1 + 0.03*t, b.Y1 + 0.05*t})
	s.rect(hand.Measured, b)
	for _, x := range []float64{b.X0, b.X1} {
		s.line(pen{colour: hand.Measured, width: 0.07 * t}, point{x, b.Y0 - 0.16*t}, point{x, b.Y1 + 0.13*t})
	}
}

// drawRulerAlone draws a ruler with its name and its value over it.
func drawRulerAlone(r *reading.Reading, opt Options) (image.Image, error) {
	l, err := hand.NewLetters()
	if err != nil {
		return nil, err
	}
	w := float64(opt.Width)
	t := textSize(w)
	m := 0.9 * t
	k := layRuler(r, opt, w-2*m, t, l)
	const head = 2.0
	s := newSheet(opt.Width, int(math.Ceil(m+head*t+k.Height+m)), hand.Paper, l)
	n := write(r, opt)
	base := m + 1.05*t
	x := w - m
	s.text(label{n.Plus, x, base, 1, 1.2 * t, hand.Serif, hand.Faint}, 0)
	x -= l.Width(hand.Serif, 1.2*t, n.Plus) + 0.35*t
	s.text(label{n.Value, x, base, 1, 1.6 * t, hand.Serif, hand.Ink}, 0)
	room := x - l.Width(hand.Serif, 1.6*t, n.Value) - m - 0.8*t
	title := l.Cut(hand.Italic, 1.35*t, hand.MeasureTitle(r.Measure), room)
	s.text(label{title, m, base, 0, 1.35 * t, hand.Italic, hand.Asked}, 0)
	if used := l.Width(hand.Italic, 1.35*t, title) + 0.6*t; opt.Who != "" && room-used > 2*t {
		s.text(label{l.Cut(hand.Sans, t, hand.Clean(opt.Who), room-used), m + used, base, 0, t, hand.Sans, hand.Ink}, 0)
	}
	s.ruler(k, point{m, m + head*t}, t)
	return s.image(), nil
}
