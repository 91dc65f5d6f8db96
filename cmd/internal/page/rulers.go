package page

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// rulerOf draws the ruler of r as SVG, 400 units wide; the page scales it. ends are the ends of its
// scale in degrees; if both are 0, the reading decides them.
func rulerOf(r *reading.Reading, ends [2]float64) string {
	const wide, pad, text = 400, 8, 15
	s := &draw.Sheet{W: wide, T: text, L: draw.NewLetters()}
	s.H = s.Ruler(draw.NewRuler(r, ends, pad, wide-pad), 0)
	said := fmt.Sprintf("ruler: the reading is %.1f degrees, between %.1f and %.1f", r.AngleDeg, r.IntervalDeg[0], r.IntervalDeg[1])
	if r.Skill != nil {
		said += fmt.Sprintf("; %g degrees are asked", r.Skill.ThresholdDeg)
	}
	return s.SVG(said, "", 0)
}

// axis is the scale above the rulers of one measure and one skill.
type axis struct {
	Title string `json:"title"`
	Ticks []tick `json:"ticks"`

	measure, skill string
	scale          draw.Scale
	first          *reading.Reading // its bands are on all these rulers; nil until one is read
}

// tick is a figure over a ruler.
type tick struct {
	Share float64 `json:"share"` // of the ruler's width, 0 to 1
	Text  string  `json:"text"`
	Asked bool    `json:"asked"`
}

// The size of a row's ruler in SVG units; the page makes it as wide as its column.
const (
	rowWide = 420
	rowTall = 46
	rowText = 13
	rowPad  = 6
	rowBase = 30 // of the density
	rowBand = 9
)

// rulers draws the rulers of all rows: those of one measure and one skill on one scale, so that
// they can be compared from row to row. A take that is not read yet has the bands alone, or an
// empty ruler if no take of its measure and skill is read, so that its row keeps its height.
func (t *todayView) rulers() {
	t.Axes = []axis{}
	extents := []draw.Extent{}
	for i := range t.Rows {
		row := &t.Rows[i]
		if row.State == stateAbsent || row.measure == "" {
			continue
		}
		row.Axis = slices.IndexFunc(t.Axes, func(a axis) bool { return a.measure == row.measure && a.skill == row.skill })
		if row.Axis < 0 {
			row.Axis = len(t.Axes)
			t.Axes = append(t.Axes, axis{Title: titleOf(row.measure), Ticks: []tick{}, measure: row.measure, skill: row.skill})
			extents = append(extents, draw.Extent{})
		}
		r := row.read
		if r == nil {
			continue
		}
		a, e := &t.Axes[row.Axis], &extents[row.Axis]
		a.first = cmp.Or(a.first, r)
		e.Reading(r)
		if bands := draw.Bands(r); len(bands) > 0 {
			e.Hold(r.AngleAt(0))
			e.Edges(r, bands)
		}
	}
	letters := draw.NewLetters()
	for i := range t.Axes {
		if t.Axes[i].first == nil {
			continue
		}
		from, to := extents[i].Ends([2]float64{})
		t.Axes[i].lay(draw.Scale{From: from, To: to, A: rowPad, B: rowWide - rowPad}, letters)
	}
	for i := range t.Rows {
		if row := &t.Rows[i]; row.Axis >= 0 {
			row.Ruler = t.Axes[row.Axis].draw(row.read, letters)
		}
	}
}

// lay sets the scale and its ticks: round figures and the angle asked.
func (a *axis) lay(k draw.Scale, letters *draw.Letters) {
	a.scale = k
	asked := a.asked()
	gap := letters.Width(draw.Sans, rowText, "000") + 1.6*rowText
	for _, d := range draw.Rounds(k, gap) {
		if k.In(d) && !(draw.Finite(asked) && k.PerUnit()*math.Abs(d-asked) < 4.5*rowText) {
			a.Ticks = append(a.Ticks, tick{k.At(d) / rowWide, draw.Deg(d), false})
		}
	}
	if draw.Finite(asked) && k.In(asked) {
		a.Ticks = append(a.Ticks, tick{k.At(asked) / rowWide, draw.AskedWords(a.first.Skill.ThresholdDeg, a.first.Skill.AtMost), true})
	}
}

// asked returns the angle asked, degrees; not finite if there is none.
func (a *axis) asked() float64 {
	if len(draw.Bands(a.first)) == 0 {
		return math.Inf(1)
	}
	return a.first.AngleAt(0)
}

// draw returns the ruler of a row as SVG; r is nil if the take is not read yet.
func (a *axis) draw(r *reading.Reading, letters *draw.Letters) string {
	s := &draw.Sheet{W: rowWide, H: rowTall, T: rowText, L: letters}
	if a.first == nil {
		return s.SVG("not read yet", "", 0)
	}
	s.Strip(draw.Box{X0: a.scale.A, Y0: rowBase, X1: a.scale.B, Y1: rowBase + rowBand}, a.scale, draw.Bands(a.first))
	said := "not read yet"
	if r != nil {
		s.Reading(a.scale, rowBase, r, rowBase-3)
		said = fmt.Sprintf("ruler: %.1f degrees, between %.1f and %.1f", r.AngleDeg, r.IntervalDeg[0], r.IntervalDeg[1])
	}
	if asked := a.asked(); draw.Finite(asked) && a.scale.In(asked) {
		s.Notch(a.scale.At(asked), rowBase-14, rowBase+rowBand+4)
	}
	return s.SVG(said, "", 0)
}
