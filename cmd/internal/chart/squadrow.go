package chart

import (
	"math"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// athlete draws one athlete's row below y.
func (q *squad) athlete(k draw.Scale, w SquadRow, y float64) {
	r := w.Reading
	base := y + q.row - (0.55+rowBand)*text
	high := min(rowCurve*text, base-y-0.3*text)
	bands := draw.Bands(r)
	strip := box{k.A, base, k.B, base + rowBand*text}
	if len(bands) == 0 {
		strip.Y1 = base
	}
	q.Strip(strip, k, bands)
	q.Reading(k, base, r, high)
	if r.Skill != nil && len(bands) > 0 {
		ask := r.AngleAt(0)
		if k.In(ask) {
			q.Notch(k.At(ask), base-high-0.2*text, strip.Y1+0.2*text)
		}
	}
	q.name(w, base)
	x := q.right + 1.0*text
	v, u := q.opt.value(r.AngleDeg, r.IntervalDeg)
	used := q.Text(label{v, x, base - 0.55*text, 0, 1.45 * text, draw.Serif, draw.Ink})
	room := q.W - margin - x - used - 0.35*text
	q.Text(label{q.L.Cut(draw.Serif, text, u, room), x + used + 0.35*text, base - 0.55*text, 0, text, draw.Serif, draw.Faint})
	q.verdict(w, x, base+0.65*text)
}

// name writes who it is, in two lines if need be, and the note.
func (q *squad) name(w SquadRow, base float64) {
	room := q.left - margin - 0.8*text
	who := first(draw.Clean(w.Who), "no name")
	note := draw.Clean(w.Note)
	lines := q.L.Wrap(draw.Sans, text, who, room, 2)
	if note != "" {
		lines = []string{q.L.Cut(draw.Sans, text, who, room)}
	}
	y := base - 0.55*text
	for i, l := range lines {
		q.Text(label{l, margin, y + float64(i)*lineStep*text, 0, text, draw.Sans, draw.Ink})
	}
	if note != "" {
		q.Text(label{q.L.Cut(draw.Sans, smallText, note, room), margin, y + lineStep*text, 0, smallText, draw.Sans, draw.Faint})
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
		x += q.Text(label{q.L.Cut(draw.Sans, text, words, right-x), x, y, 0, text, draw.Sans, draw.Ink}) + 0.6*text
	}
	if gap := draw.Clean(w.Gap); gap != "" && right-x > 1.5*text {
		q.Text(label{q.L.Cut(draw.Italic, 1.1*text, gap, right-x), x, y, 0, 1.1 * text, draw.Italic, draw.Asked})
	}
}

// sign draws a decision: a full disc meets, a full triangle pointing down is short,
// an open diamond is not decided.
func (s *sheet) sign(at point, d reading.Decision) {
	r := 0.3 * text
	switch d {
	case reading.Meets:
		s.Ring(draw.Ink, 0, at, r)
	case reading.Short:
		s.Fill(draw.Ink, polygon(at, 1.3*r, 3, math.Pi/2))
	default:
		s.Outline(draw.Pen{Colour: draw.Ink, Width: 0.1 * text}, polygon(at, 1.25*r, 4, 0))
	}
}

// failed draws a row that was not read: the name, and why across the ruler's place.
func (q *squad) failed(w SquadRow, y float64) float64 {
	base := y + 1.4*text
	q.name(w, base+0.55*text)
	reason := reasonOf(w)
	x := q.left
	x += q.Text(label{wordNotRead, x, base, 0, 1.1 * text, draw.Italic, draw.Asked}) + 0.7*text
	for i, l := range q.L.Wrap(draw.Sans, text, reason, q.W-margin-x, 2) {
		q.Text(label{l, x, base + float64(i)*lineStep*text, 0, text, draw.Sans, draw.Ink})
	}
	q.Line(draw.Pen{Colour: draw.Rule, Width: 0.05 * text, Dash: dotted}, point{margin, y + 0.1*text}, point{q.W - margin, y + 0.1*text})
	return y + failedHigh*text
}
