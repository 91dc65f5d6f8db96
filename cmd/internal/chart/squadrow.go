package chart

import (
	"math"

	"ecart/cmd/internal/hand"
	"ecart/cmd/internal/reading"
)

// athlete draws one athlete's row below y.
func (q *squad) athlete(k hand.Scale, w SquadRow, y float64) {
	r := w.Reading
	base := y + q.row - (0.55+rowBand)*text
	high := min(rowCurve*text, base-y-0.3*text)
	bands := hand.Bands(r)
	strip := box{k.A, base, k.B, base + rowBand*text}
	q.strip(strip, k, bands)
	if len(bands) == 0 {
		q.line(pen{colour: hand.Ink, width: 0.05 * text}, point{k.A, base}, point{k.B, base})
	}
	q.reading(k, base, r, high)
	if r.Skill != nil && len(bands) > 0 {
		ask := r.AngleAt(0)
		if k.In(ask) {
			q.notch(k.At(ask), base-high-0.2*text, strip.Y1+0.2*text)
		}
	}
	q.name(w, base)
	x := q.right + 1.0*text
	v, u := q.opt.value(r.AngleDeg, r.IntervalDeg)
	used := q.text(label{v, x, base - 0.55*text, 0, 1.45 * text, hand.Serif, hand.Ink})
	room := q.W - margin - x - used - 0.35*text
	q.text(label{q.l.Cut(hand.Serif, text, u, room), x + used + 0.35*text, base - 0.55*text, 0, text, hand.Serif, hand.Faint})
	q.verdict(w, x, base+0.65*text)
}

// name writes who it is, in two lines if need be, and the note.
func (q *squad) name(w SquadRow, base float64) {
	room := q.left - margin - 0.8*text
	who := first(hand.Clean(w.Who), "no name")
	note := hand.Clean(w.Note)
	lines := q.l.Wrap(hand.Sans, text, who, room, 2)
	if note != "" {
		lines = []string{q.l.Cut(hand.Sans, text, who, room)}
	}
	y := base - 0.55*text
	for i, l := range lines {
		q.text(label{l, margin, y + float64(i)*lineStep*text, 0, text, hand.Sans, hand.Ink})
	}
	if note != "" {
		q.text(label{q.l.Cut(hand.Sans, smallText, note, room), margin, y + lineStep*text, 0, smallText, hand.Sans, hand.Faint})
	}
}

// smallText is the size of notes, in points: the smallest there is.
const smallText = 7.5

// verdict writes what a row comes to: a shape and words, and the gap.
func (q *squad) verdict(w SquadRow, x, y float64) {
	r := w.Reading
	words := verdictWords(r)
	right := q.W - margin
	if words != "" {
		q.sign(point{x + 0.35*text, y - 0.34*text}, r.Verdict.Decision)
		x += 1.05 * text
		x += q.text(label{q.l.Cut(hand.Sans, text, words, right-x), x, y, 0, text, hand.Sans, hand.Ink}) + 0.6*text
	}
	if gap := hand.Clean(w.Gap); gap != "" && right-x > 1.5*text {
		q.text(label{q.l.Cut(hand.Italic, 1.1*text, gap, right-x), x, y, 0, 1.1 * text, hand.Italic, hand.Asked})
	}
}

// sign draws a decision: a full disc meets, a full triangle pointing down is short,
// an open diamond is not decided.
func (s *sheet) sign(at point, d reading.Decision) {
	r := 0.3 * text
	switch d {
	case reading.Meets:
		s.ring(hand.Ink, 0, at, r)
	case reading.Short:
		s.fill(hand.Ink, polygon(at, 1.3*r, 3, math.Pi/2))
	default:
		s.outline(pen{colour: hand.Ink, width: 0.1 * text}, polygon(at, 1.25*r, 4, 0))
	}
}

// failed draws a row that was not read: the name, and why across the ruler's place.
func (q *squad) failed(w SquadRow, y float64) float64 {
	base := y + 1.4*text
	q.name(w, base+0.55*text)
	reason := reasonOf(w)
	x := q.left
	x += q.text(label{wordNotRead, x, base, 0, 1.1 * text, hand.Italic, hand.Asked}) + 0.7*text
	for i, l := range q.l.Wrap(hand.Sans, text, reason, q.W-margin-x, 2) {
		q.text(label{l, x, base + float64(i)*lineStep*text, 0, text, hand.Sans, hand.Ink})
	}
	q.line(pen{colour: hand.Rule, width: 0.05 * text, dash: dotted}, point{margin, y + 0.1*text}, point{q.W - margin, y + 0.1*text})
	return y + failedHigh*text
}
