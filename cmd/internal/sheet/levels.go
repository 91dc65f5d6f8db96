package sheet

import (
	"fmt"
	"html/template"
	"image/color"
	"strings"

	"ecart/cmd/internal/draw"
)

// level is one row of the plain drawing: an angle with its interval, in degrees.
type level struct {
	Name     string
	Deg      float64
	Interval [2]float64
}

// Sizes of the plain drawing, in millimetres.
const (
	levelsWide  = 186.0
	levelsLeft  = 46.0 // where the names end
	levelsRight = 178.0
	levelHigh   = 15.0
	levelsTop   = 11.0
)

// levels draws rows below each other on one ruler, each with a dot and a bar, and a dashed
// line for the angle asked, if that is not nil.
func (s *setting) levels(rows []level, asked *float64, askedWords string) template.HTML {
	const halo = 0.45
	var e draw.Extent
	for _, r := range rows {
		e.Hold(r.Interval[0], r.Interval[1])
	}
	if asked != nil {
		e.Hold(*asked)
	}
	bottom := levelsTop + levelHigh*float64(len(rows))
	d := &draw.Sheet{W: levelsWide, H: bottom + 8, T: 3.4, L: draw.NewLetters()}
	k := draw.Scale{A: levelsLeft, B: levelsRight}
	k.From, k.To = e.Ends([2]float64{})
	say := func(x, y, align, size float64, face draw.Face, c color.NRGBA, text string) {
		d.HaloText(draw.Label{Text: text, X: x, Y: y, Align: align, Size: size, Face: face, Colour: c}, halo)
	}
	line := func(x1, y1, x2, y2 float64, p draw.Pen) {
		d.Line(p, draw.Point{X: x1, Y: y1}, draw.Point{X: x2, Y: y2})
	}
	for _, deg := range draw.Rounds(k, 5*d.T) {
		line(k.At(deg), levelsTop-3, k.At(deg), bottom, draw.Pen{Colour: draw.Rule, Width: 0.15})
		say(k.At(deg), bottom+5, 0.5, d.T, draw.Sans, draw.Faint, s.figures(deg))
	}
	line(k.A, bottom, k.B, bottom, draw.Pen{Colour: draw.Ink, Width: 0.3})
	var alt []string
	if asked != nil {
		x, half := k.At(*asked), d.L.Width(draw.Sans, 3.6, askedWords)/2
		line(x, levelsTop-4.5, x, bottom, draw.Pen{Colour: draw.Asked, Width: 0.45, Dash: []float64{2, 1.2}})
		say(min(x, levelsWide-half), levelsTop-6, 0.5, 3.6, draw.Sans, draw.Asked, askedWords)
		alt = append(alt, askedWords)
	}
	for i, r := range rows {
		y := levelsTop + levelHigh*(float64(i)+0.62)
		value, off := roundly(r.Deg, r.Interval)
		say(0, y+1.3, 0, 4.6, draw.Serif, draw.Ink, d.L.Cut(draw.Serif, 4.6, r.Name, levelsLeft-2))
		a, c := k.At(r.Interval[0]), k.At(r.Interval[1])
		line(a, y, c, y, draw.Pen{Colour: draw.Measured, Width: 1.1})
		for _, x := range []float64{a, c} {
			line(x, y-1.5, x, y+1.5, draw.Pen{Colour: draw.Measured, Width: 0.4})
		}
		at := draw.Point{X: k.At(r.Deg), Y: y}
		d.Disc(draw.White, at, 1.9)
		d.Disc(draw.Measured, at, 1.5)
		say(at.X, y-3.2, 0.5, 5.2, draw.Serif, draw.Ink, s.digits(value)+"° ± "+s.digits(off))
		alt = append(alt, fmt.Sprintf("%s %s° ± %s°", r.Name, s.digits(value), s.digits(off)))
	}
	return template.HTML(d.SVG(strings.Join(alt, "; "), "", 0))
}
