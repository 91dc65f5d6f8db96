package draw

import (
	"slices"
	"sync"
	"unicode"

	"github.com/go-fonts/liberation/liberationsansregular"
	"github.com/go-fonts/liberation/liberationserifitalic"
	"github.com/go-fonts/liberation/liberationserifregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Face is one of the three faces.
type Face int

// Sans is for most words, Serif for the reading, Italic for headings.
const (
	Sans Face = iota
	Serif
	Italic
)

var faceData = [...][]byte{Sans: liberationsansregular.TTF, Serif: liberationserifregular.TTF, Italic: liberationserifitalic.TTF}

// Letters measures text and yields the outlines of its glyphs. It is good for one
// drawing at a time.
type Letters struct {
	fonts  [len(faceData)]*sfnt.Font
	buf    sfnt.Buffer
	glyphs map[glyphKey]glyph
	widths map[wordKey]float64
}

type glyphKey struct {
	f Face
	r rune
}

type wordKey struct {
	f    Face
	word string
}

type glyph struct {
	index   sfnt.GlyphIndex
	advance float64       // in ems
	outline sfnt.Segments // in 1/64 of the em's units
}

var loadFonts = sync.OnceValue(func() (fonts [len(faceData)]*sfnt.Font) {
	for i, data := range faceData {
		var err error
		if fonts[i], err = sfnt.Parse(data); err != nil {
			panic("draw: a face that is part of the program: " + err.Error())
		}
	}
	return fonts
})

// NewLetters makes letters ready.
func NewLetters() *Letters {
	return &Letters{fonts: loadFonts(), glyphs: map[glyphKey]glyph{}, widths: map[wordKey]float64{}}
}

// ems turns a length of the face's outlines into ems.
func (l *Letters) ems(f Face, v fixed.Int26_6) float64 {
	return float64(v) / (64 * float64(l.fonts[f].UnitsPerEm()))
}

// glyph returns the outline of r. A character that the face lacks gets the box that
// the face has for it, and none at all if it would not be seen by itself.
func (l *Letters) glyph(f Face, r rune) glyph {
	key := glyphKey{f, r}
	if g, ok := l.glyphs[key]; ok {
		return g
	}
	ft := l.fonts[f]
	ppem := fixed.I(int(ft.UnitsPerEm()))
	var g glyph
	if g.index, _ = ft.GlyphIndex(&l.buf, r); g.index != 0 || !unicode.In(r, unicode.M, unicode.C) {
		if a, err := ft.GlyphAdvance(&l.buf, g.index, ppem, font.HintingNone); err == nil {
			g.advance = l.ems(f, a)
		}
		segs, _ := ft.LoadGlyph(&l.buf, g.index, ppem, nil)
		g.outline = slices.Clone(segs)
	}
	l.glyphs[key] = g
	return g
}

// run calls each for every glyph of s with the pen's position in ems, and returns
// the advance of the whole. each may be nil. Pairs are kerned but for figures, which
// stand in columns.
func (l *Letters) run(f Face, s string, each func(g glyph, x float64)) float64 {
	ft := l.fonts[f]
	ppem := fixed.I(int(ft.UnitsPerEm()))
	x, last := 0.0, glyph{}
	lastDigit := false
	for _, r := range s {
		g := l.glyph(f, r)
		digit := unicode.IsDigit(r)
		if last.index != 0 && g.index != 0 && !(digit && lastDigit) {
			if k, err := ft.Kern(&l.buf, last.index, g.index, ppem, font.HintingNone); err == nil {
				x += l.ems(f, k)
			}
		}
		if each != nil {
			each(g, x)
		}
		x += g.advance
		last, lastDigit = g, digit
	}
	return x
}

// Path takes outlines: pieces of straight lines and of curves of the second and
// third degree, each closed.
type Path interface {
	MoveTo(x, y float64)
	LineTo(x, y float64)
	QuadraticTo(x1, y1, x2, y2 float64)
	CubicTo(x1, y1, x2, y2, x3, y3 float64)
	ClosePath()
}

// Trace traces the outlines of s onto p, its base line beginning at (x, y).
func (l *Letters) Trace(p Path, f Face, size float64, s string, x, y float64) {
	l.run(f, s, func(g glyph, pen float64) {
		for i, seg := range g.outline {
			var at [3]struct{ X, Y float64 }
			for j, a := range seg.Args {
				at[j].X, at[j].Y = x+size*(pen+l.ems(f, a.X)), y+size*l.ems(f, a.Y)
			}
			switch seg.Op {
			case sfnt.SegmentOpMoveTo:
				if i > 0 {
					p.ClosePath()
				}
				p.MoveTo(at[0].X, at[0].Y)
			case sfnt.SegmentOpLineTo:
				p.LineTo(at[0].X, at[0].Y)
			case sfnt.SegmentOpQuadTo:
				p.QuadraticTo(at[0].X, at[0].Y, at[1].X, at[1].Y)
			case sfnt.SegmentOpCubeTo:
				p.CubicTo(at[0].X, at[0].Y, at[1].X, at[1].Y, at[2].X, at[2].Y)
			}
		}
		if len(g.outline) > 0 {
			p.ClosePath()
		}
	})
}

// Width returns the width of s at the given size, in the size's unit.
func (l *Letters) Width(f Face, size float64, s string) float64 {
	key := wordKey{f, s}
	w, ok := l.widths[key]
	if !ok {
		w = l.run(f, s, nil)
		l.widths[key] = w
	}
	return size * w
}
