package sheet

import (
	"html/template"
	"image/color"
	"math"
	"strings"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/quiz"
)

// leaning is one row of the drawing of how strict or mild answers are.
type leaning struct {
	Name string
	Bias quiz.Bias
}

// leaningChart draws the mean difference of answers from the key, in bands: milder to the
// left of the line, stricter to the right, each as a dot with a bar of one standard error to
// either side.
func (s *setting) leaningChart(all []leaning) template.HTML {
	const wide, left, right, high, top = 80.0, 22.0, 77.0, 6.2, 6.5
	reach := 1.0
	for _, l := range all {
		far := math.Abs(l.Bias.StricterBands)
		if se := l.Bias.StandardError; se != nil {
			far += *se
		}
		reach = max(reach, math.Ceil(far+0.05))
	}
	k := draw.Scale{From: -reach, To: reach, A: left, B: right}
	bottom := top + high*float64(len(all))
	d := &draw.Sheet{W: wide, H: bottom + 5, T: 2.7, L: draw.NewLetters()}
	say := func(x, y, align float64, c color.NRGBA, text string) {
		d.Text(draw.Label{Text: text, X: x, Y: y, Align: align, Size: d.T, Face: draw.Sans, Colour: c})
	}
	line := func(x1, y1, x2, y2, width float64, c color.NRGBA) {
		d.Line(draw.Pen{Colour: c, Width: width}, draw.Point{X: x1, Y: y1}, draw.Point{X: x2, Y: y2})
	}
	t := s.quiz()
	say(left, 3.4, 0, draw.Faint, "← "+t.lean[string(quiz.Milder)])
	say(right, 3.4, 1, draw.Faint, t.lean[string(quiz.Stricter)]+" →")
	for v := -reach; v <= reach; v++ {
		colour, width := draw.Rule, 0.15
		if v == 0 {
			colour, width = draw.Ink, 0.3
		}
		line(k.At(v), top-1.5, k.At(v), bottom, width, colour)
		say(k.At(v), bottom+3.6, 0.5, draw.Faint, s.number(v, 0))
	}
	var alt []string
	for i, l := range all {
		y := top + high*(float64(i)+0.5)
		say(0, y+0.9, 0, draw.Ink, d.L.Cut(draw.Sans, d.T, l.Name, left-1.5))
		v := l.Bias.StricterBands
		if se := l.Bias.StandardError; se != nil {
			line(k.At(v-*se), y, k.At(v+*se), y, 0.7, draw.Measured)
			for _, end := range []float64{v - *se, v + *se} {
				line(k.At(end), y-1, k.At(end), y+1, 0.3, draw.Measured)
			}
		}
		d.Disc(draw.Measured, draw.Point{X: k.At(v), Y: y}, 1.1)
		alt = append(alt, l.Name+" "+s.bias(l.Name, l.Bias).Bias)
	}
	return template.HTML(d.SVG(strings.Join(alt, "; "), "", 0))
}
