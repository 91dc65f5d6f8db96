package chart

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/reading"
)

// PageRows is how many rows of a squad fit on one A4 page.
const PageRows = 15

// Squad draws rulers stacked, one athlete a row: the reading with its interval, what
// is asked, who is short, whose picture cannot decide. Rows of one measure lie on one
// ruler. Up to PageRows fit on an A4 page; more make the drawing longer.
func Squad(in SquadData, opt Options) (*Drawing, error) {
	s, opt, err := start(opt)
	if err != nil {
		return nil, err
	}
	for _, r := range in.Rows {
		if r.Reading == nil {
			continue
		}
		if err := checkReading(r.Reading); err != nil {
			return nil, &Error{Text: fmt.Sprintf("%q: %s", clean(r.Who), err.Error()), Do: readAgain}
		}
	}
	title := first(clean(in.Title), "the squad")
	q := squad{sheet: s, opt: opt, left: margin + 10.2*text, right: s.W - margin - 13.2*text}
	y := margin
	tally := q.tally(in.Rows)
	if !opt.Bare {
		y = s.head(title, in.Day, "", "")
		y = s.foot(y-0.4*text, tally, ink, 2) + 0.3*text
	}
	if len(in.Rows) == 0 {
		s.text(label{wordNoReadings, margin, y + text, 0, text, sans, faint})
		y += 1.4 * text
	}
	for _, g := range groupsOf(in.Rows) {
		y = q.group(g, y)
	}
	if words := gapsSaid(in.Rows); words != "" {
		y = s.foot(y, words, faint, 3)
	}
	s.end(y)
	d := &Drawing{Title: titled(title, in.Day), Alt: tally, sheet: s}
	for _, r := range in.Rows {
		if r.Reading == nil {
			d.Alt += "; " + first(clean(r.Who), "no name") + ": " + wordNotRead + ", " + reasonOf(r)
			continue
		}
		v, u := opt.value(r.Reading.AngleDeg, r.Reading.IntervalDeg)
		d.Alt += "; " + first(clean(r.Who), "no name") + ": " + joined(v+" "+u, opt.verdictWords(r.Reading), r.Gap)
	}
	return d, nil
}

func reasonOf(w SquadRow) string { return first(clean(w.Reason), "no reason is known") }

// gapsSaid explains the gaps that are named, in the order of a screen.
func gapsSaid(rows []SquadRow) string {
	var parts []string
	for _, g := range gapWords {
		if slices.ContainsFunc(rows, func(r SquadRow) bool { return r.Reading != nil && r.Gap == g.name }) {
			parts = append(parts, g.name+": "+g.means)
		}
	}
	return strings.Join(parts, "; ")
}

// squad is a stack of rulers: names to the left of left, words to the right of right.
type squad struct {
	*sheet
	opt         Options
	left, right float64
}

// tally says how many are what.
func (q *squad) tally(rows []SquadRow) string {
	var meets, short, open, plain, failed int
	for _, r := range rows {
		switch {
		case r.Reading == nil:
			failed++
		case r.Reading.Verdict == nil || r.Reading.Skill == nil:
			plain++
		case r.Reading.Verdict.Decision == reading.Meets:
			meets++
		case r.Reading.Verdict.Decision == reading.Short:
			short++
		default:
			open++
		}
	}
	var parts []string
	add := func(n int, one, many string) {
		switch {
		case n == 1:
			parts = append(parts, "1 "+one)
		case n > 1:
			parts = append(parts, fmt.Sprintf("%d %s", n, many))
		}
	}
	add(meets, "meets what is asked", "meet what is asked")
	add(short, "falls short", "fall short")
	add(open, "picture does not decide", "pictures do not decide")
	add(plain, "was read with nothing asked", "were read with nothing asked")
	add(failed, "was not read", "were not read")
	if len(parts) == 0 {
		return wordNoReadings
	}
	return strings.Join(parts, "; ")
}

// group is the rows on one ruler.
type group struct {
	measure string
	rows    []SquadRow
}

// groupsOf gathers rows by measure in the order in which those come; rows that were
// not read come last, under no ruler.
func groupsOf(rows []SquadRow) []group {
	var out []group
	var failed []SquadRow
	for _, r := range rows {
		if r.Reading == nil {
			failed = append(failed, r)
			continue
		}
		at := -1
		for i := range out {
			if out[i].measure == r.Reading.Measure {
				at = i
			}
		}
		if at < 0 {
			out = append(out, group{measure: r.Reading.Measure})
			at = len(out) - 1
		}
		out[at].rows = append(out[at].rows, r)
	}
	if len(failed) > 0 {
		out = append(out, group{rows: failed})
	}
	return out
}

// Heights in a squad, in text sizes.
const (
	rowHigh    = 4.25
	rowCurve   = 1.9
	rowBand    = 0.62
	failedHigh = 3.0
)

// group draws the ruler of a group and its rows below y, and returns where they end.
func (q *squad) group(g group, y float64) float64 {
	if g.measure == "" && g.rows[0].Reading == nil {
		for _, r := range g.rows {
			y = q.failed(r, y)
		}
		return y
	}
	k := scale{A: q.left, B: q.right}
	var e extent
	for _, r := range g.rows {
		e.bulk(r.Reading)
		if b := bandsOf(r.Reading); len(b) > 0 {
			e.hold(r.Reading.Skill.ThresholdDeg)
			e.edges(r.Reading, b)
		}
	}
	k.From, k.To = e.ends(q.opt)
	q.text(label{q.l.cut(italic, 1.15*text, measureTitle(g.measure), q.left-margin-0.5*text), margin, y + 1.2*text, 0, 1.15 * text, italic, asked})
	var must []float64
	for _, r := range g.rows {
		if r.Reading.Skill != nil {
			must = append(must, r.Reading.Skill.ThresholdDeg)
		}
	}
	q.figures(k, y+1.2*text, must...)
	y += 1.75 * text
	top := y
	y += float64(len(g.rows)) * rowHigh * text
	var fine [][]point
	for _, d := range k.rounds(q.l.width(sans, text, "000") + 1.6*text) {
		if k.in(d) {
			fine = append(fine, []point{{k.at(d), top - 0.2*text}, {k.at(d), y}})
		}
	}
	q.lines(pen{colour: rule, width: 0.03 * text}, fine)
	for i, r := range g.rows {
		q.row(k, r, top+float64(i)*rowHigh*text)
	}
	return y + 0.3*text
}

// row draws one athlete's row below y.
func (q *squad) row(k scale, w SquadRow, y float64) {
	r := w.Reading
	base := y + (rowHigh-0.55-rowBand)*text
	bands := bandsOf(r)
	strip := box{k.A, base, k.B, base + rowBand*text}
	q.strip(strip, k, bands)
	if len(bands) == 0 {
		q.line(pen{colour: ink, width: 0.05 * text}, point{k.A, base}, point{k.B, base})
	}
	q.reading(k, base, r, rowCurve*text)
	if r.Skill != nil && len(bands) > 0 {
		ask := r.Skill.ThresholdDeg
		if r.Skill.AtMost && r.AngleDeg < 0 {
			ask = -ask
		}
		if k.in(ask) {
			q.notch(k.at(ask), base-rowCurve*text-0.2*text, strip.Y1+0.2*text)
		}
	}
	q.name(w, base)
	x := q.right + 1.0*text
	v, u := q.opt.value(r.AngleDeg, r.IntervalDeg)
	used := q.text(label{v, x, base - 0.55*text, 0, 1.45 * text, serif, ink})
	room := q.W - margin - x - used - 0.35*text
	q.text(label{q.l.cut(serif, text, u, room), x + used + 0.35*text, base - 0.55*text, 0, text, serif, faint})
	q.verdict(w, x, base+0.65*text)
}

// name writes who it is, in two lines if need be, and the note.
func (q *squad) name(w SquadRow, base float64) {
	room := q.left - margin - 0.8*text
	who := first(clean(w.Who), "no name")
	note := clean(w.Note)
	lines := q.l.wrap(sans, text, who, room, 2)
	if note != "" {
		lines = []string{q.l.cut(sans, text, who, room)}
	}
	y := base - 0.55*text
	for i, l := range lines {
		q.text(label{l, margin, y + float64(i)*lineStep*text, 0, text, sans, ink})
	}
	if note != "" {
		q.text(label{q.l.cut(sans, smallText, note, room), margin, y + lineStep*text, 0, smallText, sans, faint})
	}
}

// smallText is the size of notes, in points: the smallest there is.
const smallText = 7.5

// verdict writes what a row comes to: a shape and words, and the gap.
func (q *squad) verdict(w SquadRow, x, y float64) {
	r := w.Reading
	words := q.opt.verdictWords(r)
	right := q.W - margin
	if words != "" {
		q.sign(point{x + 0.35*text, y - 0.34*text}, r.Verdict.Decision)
		x += 1.05 * text
		x += q.text(label{words, x, y, 0, text, sans, ink}) + 0.6*text
	}
	if gap := clean(w.Gap); gap != "" && right-x > 1.5*text {
		q.text(label{q.l.cut(italic, 1.1*text, gap, right-x), x, y, 0, 1.1 * text, italic, asked})
	}
}

// sign draws a decision: a full disc meets, a full triangle pointing down is short,
// an open diamond is not decided.
func (s *sheet) sign(at point, d reading.Decision) {
	r := 0.3 * text
	switch d {
	case reading.Meets:
		s.ring(ink, 0, at, r)
	case reading.Short:
		s.fill(ink, polygon(at, 1.3*r, 3, math.Pi/2))
	default:
		s.outline(pen{colour: ink, width: 0.1 * text}, polygon(at, 1.25*r, 4, 0))
	}
}

// failed draws a row that was not read: the name, and why across the ruler's place.
func (q *squad) failed(w SquadRow, y float64) float64 {
	base := y + 1.4*text
	q.name(w, base+0.55*text)
	reason := reasonOf(w)
	x := q.left
	x += q.text(label{wordNotRead, x, base, 0, 1.1 * text, italic, asked}) + 0.7*text
	for i, l := range q.l.wrap(sans, text, reason, q.W-margin-x, 2) {
		q.text(label{l, x, base + float64(i)*lineStep*text, 0, text, sans, ink})
	}
	q.line(pen{colour: rule, width: 0.05 * text, dash: dotted}, point{margin, y + 0.1*text}, point{q.W - margin, y + 0.1*text})
	return y + failedHigh*text
}
