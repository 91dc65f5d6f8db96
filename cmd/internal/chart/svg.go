package chart

import (
	"bytes"
	"errors"
	"fmt"
	"html"
	"io"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// SVG writes the drawing as one SVG element that stands by itself and may as well be
// put into a page: it refers to nothing outside and needs no style. Its text is text,
// to be read out, searched and copied; where the faces it was laid out in are not at
// hand, others are fitted to the same widths.
func (d *Drawing) SVG(w io.Writer) error {
	s := d.sheet
	c := vgsvg.New(vg.Points(s.W), vg.Points(s.H))
	s.paint(c)
	var body bytes.Buffer
	if _, err := c.WriteTo(&body); err != nil {
		return err
	}
	inner, err := within(body.String())
	if err != nil {
		return err
	}
	var b strings.Builder
	width, height := d.SizeMM()
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" role="img" aria-label=%q>`+"\n",
		number(width), number(height), number(s.W), number(s.H), html.EscapeString(d.Title))
	fmt.Fprintf(&b, "<title>%s</title>\n<desc>%s</desc>\n", html.EscapeString(d.Title), html.EscapeString(d.Alt))
	fmt.Fprintf(&b, `<rect width="%s" height="%s" fill="%s"/>`+"\n", number(s.W), number(s.H), hex(paper))
	b.WriteString(inner)
	for _, g := range s.labels {
		style := ""
		if g.Face == italic {
			style = ` font-style="italic"`
		}
		// From its left end: where another face is fitted, it fills the same place.
		long := s.l.width(g.Face, g.Size, g.Text)
		fmt.Fprintf(&b, `<text x="%s" y="%s" font-family="%s"%s font-size="%s" fill="%s" textLength="%s" lengthAdjust="spacingAndGlyphs">%s</text>`+"\n",
			number(g.X-g.Align*long), number(g.Y), families[g.Face], style, number(g.Size), hex(g.Colour), number(long), html.EscapeString(g.Text))
	}
	b.WriteString("</svg>\n")
	_, err = io.WriteString(w, b.String())
	return err
}

// within returns what stands between the tags of the SVG element that the canvas
// wrote: its own tag has neither title nor role, and a prolog that a page does not
// take.
func within(svg string) (string, error) {
	_, rest, ok := strings.Cut(svg, "<svg ")
	if ok {
		_, rest, ok = strings.Cut(rest, ">\n")
	}
	end := strings.LastIndex(rest, "</svg>")
	if !ok || end < 0 {
		return "", errors.New("the canvas did not write an SVG element")
	}
	return rest[:end], nil
}

// number writes a length with at most two decimals.
func number(v float64) string { return strconv.FormatFloat(tidy(v)+0, 'f', -1, 64) }
