package chart

import (
	"fmt"
	"slices"
	"strings"

	"ecart/cmd/internal/draw"
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
	row         float64 // how high one is
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
	rowLeast   = 3.3
	groupHead  = 1.75
	groupFoot  = 0.3
	rowCurve   = 1.9
	rowBand    = 0.62
	failedHigh = 3.0
)

// pageHigh is what an A4 page leaves between margins of 15 mm, in points.
const pageHigh = (297 - 2*15) * pointsPerMM

// rowFor returns how high a row is: lower where several measures with a ruler each
// would else not let PageRows on a page.
func (q *squad) rowFor(groups []group, rows int, y float64) float64 {
	const foot = (3*lineStep+1)*text + margin // for what the gaps mean
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

// group draws the ruler of a group and its rows below y, and returns where they end.
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
	var must []float64
	for _, r := range g.rows {
		if r.Reading.Skill != nil {
			must = append(must, r.Reading.Skill.ThresholdDeg)
		}
	}
	q.Figures(k, y+1.2*text, must...)
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
