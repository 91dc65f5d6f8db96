package chart

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// PageRows is the number of rows of a squad that fit on an A4 page.
const PageRows = 15

// Squad draws one row for each athlete: the reading with its interval on a ruler, the asked
// angle and the verdict. Rows of one measure share a ruler. Up to PageRows rows fit on an
// A4 page; more make the drawing longer.
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
			return nil, draw.Problem(draw.ReadAgain, "%q: %s", draw.Clean(r.Who), err.Error())
		}
	}
	title := first(draw.Clean(in.Title), "the squad")
	q := squad{sheet: s, opt: opt, left: margin + 10.2*text, right: s.W - margin - 13.2*text}
	y := margin
	tally := q.tally(in.Rows)
	if !opt.Bare {
		y = s.head(title, in.Day, "", "")
		y = s.foot(y-0.4*text, tally, draw.Ink, 2) + 0.3*text
	}
	if len(in.Rows) == 0 {
		s.Text(label{wordNoReadings, margin, y + text, 0, text, draw.Sans, draw.Faint})
		y += 1.4 * text
	}
	groups := groupsOf(in.Rows)
	q.row = q.rowFor(groups, len(in.Rows), y)
	for _, g := range groups {
		y = q.group(g, y)
	}
	if words := gapsSaid(in.Rows); words != "" {
		y = s.foot(y, words, draw.Faint, 3)
	}
	s.end(y)
	d := &Drawing{Title: titled(title, in.Day), Alt: tally, sheet: s}
	for _, r := range in.Rows {
		if r.Reading == nil {
			d.Alt += "; " + first(draw.Clean(r.Who), "no name") + ": " + wordNotRead + ", " + reasonOf(r)
			continue
		}
		v, u := opt.value(r.Reading.AngleDeg, r.Reading.IntervalDeg)
		d.Alt += "; " + first(draw.Clean(r.Who), "no name") + ": " + joined(v+" "+u, verdictWords(r.Reading), r.Gap)
	}
	return d, nil
}

func reasonOf(w SquadRow) string { return first(draw.Clean(w.Reason), "no reason is known") }

// gapsSaid explains the gaps that occur, in the order of a screen.
func gapsSaid(rows []SquadRow) string {
	var parts []string
	for _, g := range gapWords {
		if slices.ContainsFunc(rows, func(r SquadRow) bool { return r.Reading != nil && r.Gap == g.name }) {
			parts = append(parts, g.name+": "+g.means)
		}
	}
	return strings.Join(parts, "; ")
}

// squad is the layout of a squad: names to the left of left, rulers, words to the right of
// right.
type squad struct {
	*sheet
	opt         Options
	left, right float64
	row         float64 // height of a row
}

// tally returns the number of rows with each verdict, in words.
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

// groupsOf groups rows by measure, in order of first appearance. Rows that were not read
// come last, without a ruler.
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
	rowLeast   = 3.3
	groupHead  = 1.75
	groupFoot  = 0.3
	rowCurve   = 1.9
	rowBand    = 0.62
	failedHigh = 3.0
)

// pageHigh is the height of an A4 page within margins of 15 mm, in points.
const pageHigh = (297 - 2*15) * pointsPerMM

// rowFor returns the height of a row. It is lower if several measures, with a ruler each,
// would otherwise not leave room for PageRows rows on a page.
func (q *squad) rowFor(groups []group, rows int, y float64) float64 {
	const foot = (3*lineStep+1)*text + margin // for the explanation of the gaps
	free, read := pageHigh-y-foot, 0
	for _, g := range groups {
		if g.rows[0].Reading == nil {
			free -= float64(len(g.rows)) * failedHigh * text
			continue
		}
		free -= (groupHead + groupFoot) * text
		read += len(g.rows)
	}
	if rows > PageRows || read == 0 {
		return rowHigh * text
	}
	return min(rowHigh*text, max(rowLeast*text, free/float64(read)))
}

// group draws the ruler of a group and its rows below y, and returns the y of the lower end.
func (q *squad) group(g group, y float64) float64 {
	if g.rows[0].Reading == nil {
		for _, r := range g.rows {
			y = q.failed(r, y)
		}
		return y
	}
	k := draw.Scale{A: q.left, B: q.right}
	var e draw.Extent
	for _, r := range g.rows {
		e.Reading(r.Reading)
		if b := draw.Bands(r.Reading); len(b) > 0 {
			e.Hold(r.Reading.Skill.ThresholdDeg)
			e.Edges(r.Reading, b)
		}
	}
	k.From, k.To = e.Ends(q.opt.RangeDeg)
	q.Text(label{q.L.Cut(draw.Italic, 1.15*text, draw.MeasureTitle(g.measure), q.left-margin-0.5*text), margin, y + 1.2*text, 0, 1.15 * text, draw.Italic, draw.Asked})
	var asked []float64
	for _, r := range g.rows {
		if r.Reading.Skill != nil {
			asked = append(asked, r.Reading.Skill.ThresholdDeg)
		}
	}
	q.Figures(k, y+1.2*text, asked...)
	y += groupHead * text
	top := y
	y += float64(len(g.rows)) * q.row
	var fine [][]point
	for _, d := range draw.Rounds(k, q.L.Width(draw.Sans, text, "000")+1.6*text) {
		if k.In(d) {
			fine = append(fine, []point{{k.At(d), top - 0.2*text}, {k.At(d), y}})
		}
	}
	q.Lines(draw.Pen{Colour: draw.Rule, Width: 0.03 * text}, fine)
	for i, r := range g.rows {
		q.athlete(k, r, top+float64(i)*q.row)
	}
	return y + groupFoot*text
}

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

// name writes the athlete's name, in up to two lines, and the note.
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

// smallText is the size of notes, in points, the smallest size used.
const smallText = 7.5

// verdict writes a row's verdict as a shape and words, and the gap.
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

// sign draws a decision: a filled disc for met, a filled triangle pointing down for short,
// an open diamond for undecided.
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

// failed draws a row that was not read: the name, and the reason in place of the ruler.
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
