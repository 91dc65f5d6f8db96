package draw

import (
	"encoding/xml"
	"fmt"
	"image/color"
	"math"
	"strconv"
	"strings"
)

// families lists for each face its name, and faces of the same widths to use if it is missing.
var families = [...]string{
	Sans:   "Liberation Sans, Arial, Helvetica, sans-serif",
	Serif:  "Liberation Serif, Times New Roman, Times, serif",
	Italic: "Liberation Serif, Times New Roman, Times, serif",
}

// SVG returns the sheet as one SVG element without external references. It uses
// attributes and no styles, which a page's content security policy blocks. Text stays
// text; if its face is missing, another one is fitted to the same width. unit is the unit
// of length in millimetres; with 0 the drawing has no size of its own. title names what is
// shown; alt describes it in a sentence, or is empty.
func (s *Sheet) SVG(title, alt string, unit float64) string {
	var b strings.Builder
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg"`)
	if unit > 0 {
		fmt.Fprintf(&b, ` width="%smm" height="%smm"`, number(s.W*unit), number(s.H*unit))
	}
	fmt.Fprintf(&b, ` viewBox="0 0 %s %s" role="img" aria-label="%s">`+"\n", number(s.W), number(s.H), escaped(title))
	if alt != "" {
		fmt.Fprintf(&b, "<title>%s</title>\n<desc>%s</desc>\n", escaped(title), escaped(alt))
	}
	fmt.Fprintf(&b, `<rect width="%s" height="%s" fill="%s"/>`+"\n", number(s.W), number(s.H), hex(Paper))
	for _, h := range s.Shapes {
		svgShape(&b, h)
	}
	for _, g := range s.Texts {
		more := ""
		if g.Face == Italic {
			more = ` font-style="italic"`
		}
		if g.Halo > 0 {
			more += fmt.Sprintf(` stroke="%s" stroke-width="%s" paint-order="stroke"`, hex(Paper), number(2*g.Halo))
		}
		// anchored at the left end, so that another face takes the same place
		fmt.Fprintf(&b, `<text x="%s" y="%s" font-family="%s"%s font-size="%s" fill="%s" textLength="%s" lengthAdjust="spacingAndGlyphs">%s</text>`+"\n",
			number(s.left(g.Label)), number(g.Y), families[g.Face], more, number(g.Size), hex(g.Colour), number(s.L.Width(g.Face, g.Size, g.Text)), escaped(g.Text))
	}
	b.WriteString("</svg>\n")
	return b.String()
}

// PathData returns lines as the d attribute of an SVG path.
func PathData(closed bool, lines ...[]Point) string {
	var b strings.Builder
	for _, l := range lines {
		for i, p := range l {
			b.WriteString([]string{"M", "L"}[min(i, 1)])
			b.WriteString(number(p.X))
			b.WriteByte(' ')
			b.WriteString(number(p.Y))
		}
		if closed {
			b.WriteByte('Z')
		}
	}
	return b.String()
}

func svgShape(b *strings.Builder, h Shape) {
	if h.Round > 0 {
		at := h.Lines[0][0]
		fmt.Fprintf(b, `<circle cx="%s" cy="%s" r="%s"`, number(at.X), number(at.Y), number(h.Round))
	} else {
		fmt.Fprintf(b, `<path d="%s"`, PathData(h.Closed, h.Lines...))
	}
	kind := "fill"
	if h.Width > 0 {
		kind = "stroke"
		b.WriteString(` fill="none"`)
	}
	fmt.Fprintf(b, ` %s="%s"`, kind, hex(h.Colour))
	if h.Width > 0 {
		fmt.Fprintf(b, ` stroke-width="%s"`, number(h.Width))
	}
	if h.Colour.A != 0xff {
		fmt.Fprintf(b, ` %s-opacity="%s"`, kind, number(float64(h.Colour.A)/0xff))
	}
	for i, v := range h.Dash {
		b.WriteString([]string{` stroke-dasharray="`, " "}[min(i, 1)])
		b.WriteString(number(v))
	}
	if len(h.Dash) > 0 {
		b.WriteByte('"')
	}
	b.WriteString("/>\n")
}

// escaped escapes s for XML; characters that XML does not allow become U+FFFD.
func escaped(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a Builder takes everything
	return b.String()
}

// number writes a length with at most two decimals: a hundredth of a point is 3.5
// micrometres.
func number(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64) }

func hex(c color.NRGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }
