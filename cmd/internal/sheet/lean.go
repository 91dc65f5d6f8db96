package sheet

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"ecart/cmd/internal/quiz"
)

// leaning is one row of the drawing of answers that are stricter or milder.
type leaning struct {
	Name string
	Bias quiz.Bias
}

// leaningChart draws by how many bands answers are off: milder to the left of the line,
// stricter to the right, a dot each with a bar of one standard error either way.
func (s *setting) leaningChart(all []leaning) template.HTML {
	const wide, left, right, high, top = 80.0, 22.0, 77.0, 6.2, 6.5
	const ink, faint, rule, red = "#1f1c17", "#6a655b", "#d2ccbd", "#b9402a"
	reach := 1.0
	for _, l := range all {
		far := math.Abs(l.Bias.StricterBands)
		if se := l.Bias.StandardError; se != nil {
			far += *se
		}
		reach = max(reach, math.Ceil(far+0.05))
	}
	x := func(v float64) float64 { return (left+right)/2 + v/reach*(right-left)/2 }
	bottom := top + high*float64(len(all))
	var b strings.Builder
	say := func(x, y float64, anchor, colour, text string) {
		fmt.Fprintf(&b, `<text x="%.2f" y="%.2f" text-anchor="%s" font-family="Liberation Sans, Helvetica, Arial, sans-serif" font-size="2.7" fill="%s">%s</text>`, x, y, anchor, colour, template.HTMLEscapeString(text))
	}
	line := func(x1, y1, x2, y2, width float64, colour string) {
		fmt.Fprintf(&b, `<line x1="%.2f" y1="%.2f" x2="%.2f" y2="%.2f" stroke="%s" stroke-width="%.2f"/>`, x1, y1, x2, y2, colour, width)
	}
	t := s.quiz()
	say(left, 3.4, "start", faint, "← "+t.lean[string(quiz.Milder)])
	say(right, 3.4, "end", faint, t.lean[string(quiz.Stricter)]+" →")
	for v := -reach; v <= reach; v++ {
		colour, width := rule, 0.15
		if v == 0 {
			colour, width = ink, 0.3
		}
		line(x(v), top-1.5, x(v), bottom, width, colour)
		say(x(v), bottom+3.6, "middle", faint, s.number(v, 0))
	}
	var alt []string
	for i, l := range all {
		y := top + high*(float64(i)+0.5)
		name := []rune(l.Name)
		if len(name) > 12 {
			name = append(name[:11], '…')
		}
		say(0, y+0.9, "start", ink, string(name))
		v := l.Bias.StricterBands
		if se := l.Bias.StandardError; se != nil {
			line(x(v-*se), y, x(v+*se), y, 0.7, red)
			line(x(v-*se), y-1, x(v-*se), y+1, 0.3, red)
			line(x(v+*se), y-1, x(v+*se), y+1, 0.3, red)
		}
		fmt.Fprintf(&b, `<circle cx="%.2f" cy="%.2f" r="1.1" fill="%s"/>`, x(v), y, red)
		alt = append(alt, l.Name+" "+s.bias(l.Name, l.Bias).Bias)
	}
	return template.HTML(fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.1f" role="img" aria-label="%s">%s</svg>`,
		wide, bottom+5, template.HTMLEscapeString(strings.Join(alt, "; ")), b.String()))
}
