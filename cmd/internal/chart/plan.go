package chart

import (
	"fmt"
	"math"
	"slices"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/draw"
)

// PlanData is a plan: which change a number of takes would find.
type PlanData struct {
	Title string // of the measure
	Who   string // "" if there is no athlete yet
	Plan  *change.Plan
}

// Plan draws, on one ruler of degrees, the smallest change found for each set-up and interval between days, from
// the most takes a day to one. The wanted change is a line; the marks of plans that find it are filled.
func Plan(in PlanData, opt Options) (*Drawing, error) {
	s, opt, err := start(opt)
	if err != nil {
		return nil, err
	}
	p := in.Plan
	if p == nil || len(p.Ways) == 0 {
		return nil, draw.Problem("name a measure, a change and a day", "there is no plan to draw")
	}
	for _, w := range p.Ways {
		if !draw.Angles(w.FoundDeg) {
			return nil, draw.Problem("plan it again", "a change of %g degrees is no angle", w.FoundDeg)
		}
	}
	title := first(draw.Clean(in.Title), "a change")
	y := margin + 0.4*text
	if !opt.Bare {
		y = s.head(title, first(draw.Clean(in.Who), "the plan"), "", "") + 0.4*text
	}
	c := planDrawing{sheet: s, opt: opt, p: p, left: margin + 8*text, right: s.W - margin - 11.5*text}
	y = c.draw(y)
	if !opt.Bare {
		y = s.foot(y+0.3*text, draw.Clean(p.Sentence), draw.Ink, 4)
	}
	s.end(y)
	return &Drawing{Title: titled(title+", a plan of takes", draw.Clean(in.Who)), Alt: draw.Clean(p.Sentence), sheet: s}, nil
}

type planDrawing struct {
	*sheet
	opt         Options
	p           *change.Plan
	left, right float64
	k           draw.Scale
}

func (c *planDrawing) draw(y float64) float64 {
	c.k = draw.Scale{A: c.left, B: c.right}
	var e draw.Extent
	e.Hold(0, c.p.ChangeDeg)
	for _, w := range c.p.Ways {
		e.Hold(w.FoundDeg)
	}
	c.k.From, c.k.To = e.Ends(c.opt.RangeDeg)
	c.Text(label{c.L.Cut(draw.Italic, text, fmt.Sprintf("the smallest change found in %.0f of 10 cases, degrees; from left to right %s takes a day", 10*c.p.Chance, change.TakesWords()), c.W-2*margin), margin, y + text, 0, text, draw.Italic, draw.Asked})
	y += 1.5 * text
	c.Figures(c.k, y+text, c.p.ChangeDeg)
	y += 1.6 * text
	const setupHigh, wayHigh = 1.7, 1.35 // in text sizes
	setups := c.p.Setups()
	for _, setup := range setups {
		c.Text(label{c.L.Cut(draw.Sans, text, draw.Clean(setup), c.W-2*margin), margin, y + 1.2*text, 0, text, draw.Sans, draw.Ink})
		y += setupHigh * text
		top := y
		rows := c.rows(setup)
		bottom := y + wayHigh*text*float64(len(rows))
		c.ground(top, bottom)
		for _, r := range rows {
			c.row(r, y+wayHigh*text/2)
			y += wayHigh * text
		}
	}
	return y
}

// rows returns a set-up's plans, one row for each interval between days, with one take a day first.
func (c *planDrawing) rows(setup string) (out [][]change.PlanWay) {
	for _, every := range change.PlanEvery {
		var row []change.PlanWay
		for _, w := range c.p.Ways {
			if w.Setup == setup && w.Every == every {
				row = append(row, w)
			}
		}
		if row != nil {
			slices.SortFunc(row, func(a, b change.PlanWay) int { return a.Takes - b.Takes })
			out = append(out, row)
		}
	}
	return out
}

// ground draws the ruler's lines, and the wanted change in ink.
func (c *planDrawing) ground(top, bottom float64) {
	var fine [][]point
	for _, d := range draw.Rounds(c.k, c.L.Width(draw.Sans, text, "000")+1.6*text) {
		if c.k.In(d) {
			fine = append(fine, []point{{c.k.At(d), top}, {c.k.At(d), bottom}})
		}
	}
	c.Lines(draw.Pen{Colour: draw.Rule, Width: 0.03 * text}, fine)
	if x := c.p.ChangeDeg; c.k.In(x) {
		c.Line(draw.Pen{Colour: draw.Ink, Width: 0.07 * text}, point{c.k.At(x), top}, point{c.k.At(x), bottom})
	}
}

// row draws the plans of one interval between days centred at y, and writes the changes found with one take and
// with the most takes.
func (c *planDrawing) row(row []change.PlanWay, y float64) {
	base := y + 0.35*text
	c.Text(label{c.L.Cut(draw.Sans, smallText, change.EveryWords(row[0].Every), c.left-margin-1.2*text), margin + 0.7*text, base, 0, smallText, draw.Sans, draw.Faint})
	one, most := row[0], row[len(row)-1]
	c.Line(draw.Pen{Colour: draw.Faint, Width: 0.07 * text}, point{c.k.At(c.k.Keep(most.FoundDeg)), y}, point{c.k.At(c.k.Keep(one.FoundDeg)), y})
	for _, w := range row {
		if !c.k.In(w.FoundDeg) {
			continue
		}
		colour := draw.Faint
		if w.Finds {
			colour = draw.Measured
		}
		c.mark(point{c.k.At(w.FoundDeg), y}, 0.27*text, "warm", look{colour, !w.Finds})
	}
	words := fmt.Sprintf("1 take %.0f°, %d takes %.0f°", math.Ceil(one.FoundDeg), most.Takes, math.Ceil(most.FoundDeg))
	x := c.right + 0.9*text
	c.Text(label{c.L.Cut(draw.Sans, smallText, words, c.W-margin-x), x, base, 0, smallText, draw.Sans, draw.Faint})
}
