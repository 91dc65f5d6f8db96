package chart

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
	"golang.org/x/text/unicode/norm"
)

// typeface is one of the three: serif for the reading, italic for headings, sans
// for the rest.
type typeface int

const (
	sans typeface = iota
	serif
	italic
)

var faceData = [...][]byte{sans: liberationsansregular.TTF, serif: liberationserifregular.TTF, italic: liberationserifitalic.TTF}

// families name the face and, for where it is not at hand, faces of the same widths
// and then whatever there is.
var families = [...]string{
	sans:   "Liberation Sans, Arial, Helvetica, sans-serif",
	serif:  "Liberation Serif, Times New Roman, Times, serif",
	italic: "Liberation Serif, Times New Roman, Times, serif",
}

var loadFonts = sync.OnceValues(func() (fonts [len(faceData)]*sfnt.Font, err error) {
	for i, data := range faceData {
		if fonts[i], err = sfnt.Parse(data); err != nil {
			return fonts, err
		}
	}
	return fonts, nil
})

// letters measures text and yields the outlines of its glyphs. It is good for one
// drawing at a time.
type letters struct {
	fonts  [len(faceData)]*sfnt.Font
	buf    sfnt.Buffer
	glyphs map[glyphKey]glyph
	widths map[wordKey]float64
}

type glyphKey struct {
	f typeface
	r rune
}

type wordKey struct {
	f    typeface
	word string
}

// glyph is an outline in ems, y down, from the pen's position on the base line.
type glyph struct {
	index   sfnt.GlyphIndex
	advance float64
	outline sfnt.Segments // in 1/64 of the em's units
}

func newLetters() (*letters, error) {
	fonts, err := loadFonts()
	if err != nil {
		return nil, err
	}
	return &letters{fonts: fonts, glyphs: map[glyphKey]glyph{}, widths: map[wordKey]float64{}}, nil
}

// ems turns a length of the face's outlines into ems.
func (l *letters) ems(f typeface, v fixed.Int26_6) float64 {
	return float64(v) / (64 * float64(l.fonts[f].UnitsPerEm()))
}

// glyph returns the outline of r. A character that the face lacks gets the box that
// the face has for it, and none at all if it would not be seen by itself.
func (l *letters) glyph(f typeface, r rune) glyph {
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
func (l *letters) run(f typeface, s string, each func(g glyph, x float64)) float64 {
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

// width returns the width of s at the given size, in the size's unit.
func (l *letters) width(f typeface, size float64, s string) float64 {
	key := wordKey{f, s}
	w, ok := l.widths[key]
	if !ok {
		w = l.run(f, s, nil)
		l.widths[key] = w
	}
	return size * w
}

// cut shortens s in its middle until it is no wider than room.
func (l *letters) cut(f typeface, size float64, s string, room float64) string {
	if l.width(f, size, s) <= room {
		return s
	}
	rs := []rune(s)
	return l.most(f, size, room, len(rs), func(keep int) string {
		head := (keep + 1) / 2
		return strings.TrimSpace(string(rs[:head])) + "…" + strings.TrimSpace(string(rs[len(rs)-(keep-head):]))
	})
}

// cutEnd shortens s at its end, if only by the ellipsis, until it is no wider than
// room.
func (l *letters) cutEnd(f typeface, size float64, s string, room float64) string {
	rs := []rune(s)
	return l.most(f, size, room, len(rs), func(keep int) string {
		return strings.TrimRight(string(rs[:keep]), " .,;") + "…"
	})
}

// most returns what short makes of the largest number of characters, at most n, at
// which that is no wider than room.
func (l *letters) most(f typeface, size, room float64, n int, short func(keep int) string) string {
	keep := sort.Search(n, func(i int) bool { return l.width(f, size, short(i+1)) > room })
	return short(keep)
}

// wrap breaks s into at most most lines no wider than room; what does not fit is
// cut with an ellipsis.
func (l *letters) wrap(f typeface, size float64, s string, room float64, most int) []string {
	var lines []string
	line := ""
	words := strings.Fields(s)
	for i, w := range words {
		next := strings.TrimSpace(line + " " + w)
		if line == "" || l.width(f, size, next) <= room {
			line = next
			continue
		}
		if len(lines) == most-1 {
			rest := line + " " + strings.Join(words[i:], " ")
			return append(lines, l.cutEnd(f, size, rest, room))
		}
		lines, line = append(lines, l.cut(f, size, line, room)), w
	}
	if line != "" {
		lines = append(lines, l.cut(f, size, line, room))
	}
	return lines
}

// longest is how many characters of a name or a reason are looked at.
const longest = 400

// clean makes s fit for one line: composed characters, single spaces, nothing
// invisible, and no more than longest characters.
func clean(s string) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	if rs := []rune(s); len(rs) > longest {
		s = string(rs[:longest]) + "…"
	}
	s = strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return ' '
		}
		if unicode.In(r, unicode.C) {
			return -1
		}
		return r
	}, norm.NFC.String(s))
	return strings.Join(strings.Fields(s), " ")
}
