package chart

import (
	"encoding/xml"
	"fmt"
	"image/color"
	"io"
	"math"
	"strconv"
	"strings"

	"ecart/cmd/internal/hand"
)

// families name the face and, for where it is not at hand, faces of the same widths
// and then whatever there is.
var families = [...]string{
	hand.Sans:   "Liberation Sans, Arial, Helvetica, sans-serif",
	hand.Serif:  "Liberation Serif, Times New Roman, Times, serif",
	hand.Italic: "Liberation Serif, Times New Roman, Times, serif",
}

// SVG writes the drawing as one SVG element that stands by itself and may as well be
// put into a page: it refers to nothing outside, and uses attributes alone, which a
// page's content security policy lets through where it would stop styles. Its text is
// text, to be searched and copied; where the faces it was laid out in are not at hand,
// others are fitted to the same widths.
func (d *Drawing) SVG(w io.Writer) error {
	s := d.sheet
	var b strings.Builder
	width, height := d.SizeMM()
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" role="img" aria-label="%s">`+"\n",
		number(width), number(height), number(s.W), number(s.H), escaped(d.Title))
	fmt.Fprintf(&b, "<title>%s</title>\n<desc>%s</desc>\n", escaped(d.Title), escaped(d.Alt))
	fmt.Fprintf(&b, `<rect width="%s" height="%s" fill="%s"/>`+"\n", number(s.W), number(s.H), hex(hand.Paper))
	for _, h := range s.shapes {
		svgShape(&b, h)
	}
	for _, g := range s.labels {
		style := ""
		if g.Face == hand.Italic {
			style = ` font-style="italic"`
		}
		// From its left end: where another face is fitted, it fills the same place.
		long := s.l.Width(g.Face, g.Size, g.Text)
		fmt.Fprintf(&b, `<text x="%s" y="%s" font-family="%s"%s font-size="%s" fill="%s" textLength="%s" lengthAdjust="spacingAndGlyphs">%s</text>`+"\n",
			number(g.X-g.Align*long), number(g.Y), families[g.Face], style, number(g.Size), hex(g.Colour), number(long), escaped(g.Text))
	}
	b.WriteString("</svg>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

func svgShape(b *strings.Builder, h shape) {
	if h.Round > 0 {
		at := h.Lines[0][0]
		fmt.Fprintf(b, `<circle cx="%s" cy="%s" r="%s"`, number(at.X), number(at.Y), number(h.Round))
	} else {
		b.WriteString(`<path d="`)
		for _, l := range h.Lines {
			for i, p := range l {
				b.WriteString([]string{"M", "L"}[min(i, 1)])
				b.WriteString(number(p.X))
				b.WriteByte(' ')
				b.WriteString(number(p.Y))
			}
			if h.Closed {
				b.WriteByte('Z')
			}
		}
		b.WriteByte('"')
	}
	opacity := func(of string) {
		if h.Colour.A != 0xff {
			fmt.Fprintf(b, ` %s-opacity="%s"`, of, number(float64(h.Colour.A)/0xff))
		}
	}
	if h.Width == 0 {
		fmt.Fprintf(b, ` fill="%s"`, hex(h.Colour))
		opacity("fill")
	} else {
		fmt.Fprintf(b, ` fill="none" stroke="%s" stroke-width="%s"`, hex(h.Colour), number(h.Width))
		opacity("stroke")
		for i, v := range h.Dash {
			b.WriteString([]string{` stroke-dasharray="`, " "}[min(i, 1)])
			b.WriteString(number(v))
		}
		if len(h.Dash) > 0 {
			b.WriteByte('"')
		}
	}
	b.WriteString("/>\n")
}

// escaped makes s fit to stand in XML; what XML cannot hold becomes U+FFFD.
func escaped(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a Builder takes everything
	return b.String()
}

// number writes a length with at most two decimals: a hundredth of a point is 3.5
// micrometres.
func number(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64) }

func hex(c color.NRGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }
