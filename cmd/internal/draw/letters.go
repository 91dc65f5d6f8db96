package draw

import (
	"slices"
	"sort"
	"strings"
	"sync"
	"unicode"

	"github.com/go-fonts/liberation/liberationsansregular"
	"github.com/go-fonts/liberation/liberationserifitalic"
	"github.com/go-fonts/liberation/liberationserifregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"ecart/cmd/internal/text"
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

// Letters measures text and returns the outlines of its glyphs. It must not be used by
// two goroutines at once.
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

// NewLetters loads the three faces.
func NewLetters() *Letters {
	return &Letters{fonts: loadFonts(), glyphs: map[glyphKey]glyph{}, widths: map[wordKey]float64{}}
}

// ems converts a length in the face's units to ems.
func (l *Letters) ems(f Face, v fixed.Int26_6) float64 {
	return float64(v) / (64 * float64(l.fonts[f].UnitsPerEm()))
}

// glyph returns the outline of r. A character that the face lacks gets the face's
// replacement box, or nothing if it is a combining mark or a control character.
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
// the advance of s in ems. each may be nil. Pairs are kerned except digits, which
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

// Path receives outlines of closed pieces: straight lines, and curves of the second and
// third degree.
type Path interface {
	MoveTo(x, y float64)
	LineTo(x, y float64)
	QuadraticTo(x1, y1, x2, y2 float64)
	CubicTo(x1, y1, x2, y2, x3, y3 float64)
	ClosePath()
}

// Trace adds the outlines of s to p, with the base line starting at (x, y).
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

// Fit returns the size, at most size and at least least, at which s is no wider
// than room.
func (l *Letters) Fit(f Face, size, least float64, s string, room float64) float64 {
	if w := l.Width(f, size, s); w > room && w > 0 {
		size = max(least, size*room/w)
	}
	return size
}

// Cut shortens s in its middle until it is no wider than room.
func (l *Letters) Cut(f Face, size float64, s string, room float64) string {
	if l.Width(f, size, s) <= room {
		return s
	}
	rs := []rune(s)
	return l.longestFit(f, size, room, len(rs), func(keep int) string {
		head := (keep + 1) / 2
		return strings.TrimSpace(string(rs[:head])) + "…" + strings.TrimSpace(string(rs[len(rs)-(keep-head):]))
	})
}

// cutEnd shortens s at its end, ending it with an ellipsis, until it is no wider than
// room.
func (l *Letters) cutEnd(f Face, size float64, s string, room float64) string {
	rs := []rune(s)
	return l.longestFit(f, size, room, len(rs), func(keep int) string {
		return strings.TrimRight(string(rs[:keep]), " .,;") + "…"
	})
}

// longestFit returns short(keep) for the largest keep, at most n, for which it is no wider
// than room.
func (l *Letters) longestFit(f Face, size, room float64, n int, short func(keep int) string) string {
	keep := sort.Search(n, func(i int) bool { return l.Width(f, size, short(i+1)) > room })
	return short(keep)
}

// Wrap breaks s into at most most lines no wider than room; what does not fit is
// cut with an ellipsis. A number and its unit stay on one line.
func (l *Letters) Wrap(f Face, size float64, s string, room float64, most int) []string {
	var lines []string
	line := ""
	const noBreak = '\u00a0'
	words := strings.FieldsFunc(text.KeepUnits(s), func(r rune) bool { return unicode.IsSpace(r) && r != noBreak })
	for i := range words {
		words[i] = strings.ReplaceAll(words[i], string(noBreak), " ")
	}
	for i, w := range words {
		next := strings.TrimSpace(line + " " + w)
		if line == "" || l.Width(f, size, next) <= room {
			line = next
			continue
		}
		if len(lines) == most-1 {
			rest := line + " " + strings.Join(words[i:], " ")
			return append(lines, l.cutEnd(f, size, rest, room))
		}
		lines, line = append(lines, l.Cut(f, size, line, room)), w
	}
	if line != "" {
		lines = append(lines, l.Cut(f, size, line, room))
	}
	return lines
}
