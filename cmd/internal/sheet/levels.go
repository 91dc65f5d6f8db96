package sheet

import (
	"fmt"
	"html/template"
	"math"
	"strings"
)

// level is one row of the drawing in plain words: an angle with how far it may be off.
type level struct {
	Name     string
	Deg      float64
	Interval [2]float64
}

// Of the drawing in plain words, in millimetres.
const (
	levelsWide  = 186.0
	levelsLeft  = 46.0 // where the names end
	levelsRight = 178.0
	levelHigh   = 15.0
	levelsTop   = 11.0
)

// levels draws rows one under the other on one ruler, a dot and a bar each, with a
// dashed line for what is asked, nil for nothing.
func (s *setting) levels(rows []level, asked *float64, askedWords string) template.HTML {
	lo, hi := math.Inf(1), math.Inf(-1)
	hold := func(v float64) { lo, hi = min(lo, v), max(hi, v) }
	for _, r := range rows {
		hold(r.Interval[0])
		hold(r.Interval[1])
	}
	if asked != nil {
		hold(*asked)
	}
	room := max(4, 0.08*(hi-lo))
	lo, hi = lo-room, hi+room
	x := func(deg float64) float64 { return levelsLeft + (deg-lo)/(hi-lo)*(levelsRight-levelsLeft) }
	bottom := levelsTop + levelHigh*float64(len(rows))
	var b strings.Builder
	say := func(x, y float64, anchor, face, colour string, size float64, text string) {
		fmt.Fprintf(&b, `<text x="%.2f" y="%.2f" text-anchor="%s" font-family="%s" font-size="%.1f" fill="%s" stroke="#fbfaf5" stroke-width="0.9" paint-order="stroke">%s</text>`, x, y, anchor, face, size, colour, template.HTMLEscapeString(text))
	}
	line := func(x1, y1, x2, y2, width float64, colour, more string) {
		fmt.Fprintf(&b, `<line x1="%.2f" y1="%.2f" x2="%.2f" y2="%.2f" stroke="%s" stroke-width="%.2f"%s/>`, x1, y1, x2, y2, colour, width, more)
	}
	const sans, serif = "Liberation Sans, Helvetica, Arial, sans-serif", "Liberation Serif, Times New Roman, serif"
	const ink, faint, rule, red, blue = "#1f1c17", "#6a655b", "#d2ccbd", "#b9402a", "#4d6272"
	var alt []string
	step := stepOf(hi - lo)
	for d := math.Ceil(lo/step) * step; d <= hi; d += step {
		line(x(d), levelsTop-3, x(d), bottom, 0.15, rule, "")
		say(x(d), bottom+5, "middle", sans, faint, 3.4, s.figures(d))
	}
	line(levelsLeft, bottom, levelsRight, bottom, 0.3, ink, "")
	if asked != nil {
		line(x(*asked), levelsTop-4.5, x(*asked), bottom, 0.45, blue, ` stroke-dasharray="2 1.2"`)
		anchor, at := "middle", x(*asked)
		if at > levelsRight-16 {
			anchor, at = "end", levelsRight+6
		}
		say(at, levelsTop-6, anchor, sans, blue, 3.6, askedWords)
		alt = append(alt, askedWords)
	}
	for i, r := range rows {
		y := levelsTop + levelHigh*(float64(i)+0.62)
		value, off := roundly(r.Deg, r.Interval)
		say(0, y+1.3, "start", serif, ink, 4.6, r.Name)
		a, c := x(r.Interval[0]), x(r.Interval[1])
		line(a, y, c, y, 1.1, red, "")
		line(a, y-1.5, a, y+1.5, 0.4, red, "")
		line(c, y-1.5, c, y+1.5, 0.4, red, "")
		fmt.Fprintf(&b, `<circle cx="%.2f" cy="%.2f" r="1.7" fill="%s" stroke="#fff" stroke-width="0.4"/>`, x(r.Deg), y, red)
		say(x(r.Deg), y-3.2, "middle", serif, ink, 5.2, s.digits(value)+"° ± "+s.digits(off))
		alt = append(alt, fmt.Sprintf("%s %s° ± %s°", r.Name, s.digits(value), s.digits(off)))
	}
	return template.HTML(fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.1f" role="img" aria-label="%s">%s</svg>`,
		levelsWide, bottom+8, template.HTMLEscapeString(strings.Join(alt, "; ")), b.String()))
}

// stepOf is a round step that parts a range into some six.
func stepOf(width float64) float64 {
	for _, s := range []float64{1, 2, 5, 10, 20, 50} {
		if width/s <= 8 {
			return s
		}
	}
	return 100
}
