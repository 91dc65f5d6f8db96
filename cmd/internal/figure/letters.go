package figure

import (
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

// face is one of the three faces: serif for the reading, italic for headings,
// sans for the rest.
type face int

const (
	sans face = iota
	serif
	italic
)

var faceData = [...][]byte{sans: liberationsansregular.TTF, serif: liberationserifregular.TTF, italic: liberationserifitalic.TTF}

// letters measures text and yields the outlines of its glyphs. It is good for one
// drawing at a time.
type letters struct {
	fonts [len(faceData)]*sfnt.Font
	buf   sfnt.Buffer
	have  map[glyphKey]glyph
}

type glyphKey struct {
	f face
	r rune
}

// glyph is an outline in ems, y down, from the pen's position on the base line.
type glyph struct {
	index    sfnt.GlyphIndex
	advance  float64
	segments []segment
}

// segment is one piece of an outline: op m, l, q or c, and its points.
type segment struct {
	op byte
	p  [3]point
}

var loadFonts = sync.OnceValues(func() (fonts [len(faceData)]*sfnt.Font, err error) {
	for i, data := range faceData {
		if fonts[i], err = sfnt.Parse(data); err != nil {
			return fonts, err
		}
	}
	return fonts, nil
})

func newLetters() (*letters, error) {
	fonts, err := loadFonts()
	if err != nil {
		return nil, err
	}
	return &letters{fonts: fonts, have: map[glyphKey]glyph{}}, nil
}

// glyph returns the outline of r. A character that the face lacks gets the box
// that the face has for it, and none at all if it would not be seen by itself.
func (l *letters) glyph(f face, r rune) glyph {
	key := glyphKey{f, r}
	if g, ok := l.have[key]; ok {
		return g
	}
	ft := l.fonts[f]
	em := ft.UnitsPerEm()
	ppem := fixed.I(int(em))
	var g glyph
	if g.index, _ = ft.GlyphIndex(&l.buf, r); g.index != 0 || !unicode.In(r, unicode.M, unicode.C) {
		scale := 1 / (64 * float64(em))
		if a, err := ft.GlyphAdvance(&l.buf, g.index, ppem, font.HintingNone); err == nil {
			g.advance = float64(a) * scale
		}
		segs, _ := ft.LoadGlyph(&l.buf, g.index, ppem, nil)
		for _, s := range segs {
			out := segment{op: "mlqc"[s.Op]}
			for i, p := range s.Args {
				out.p[i] = point{float64(p.X) * scale, float64(p.Y) * scale}
			}
			g.segments = append(g.segments, out)
		}
	}
	l.have[key] = g
	return g
}

// run calls each for every glyph of s with the pen's position in ems, and returns
// the advance of the whole. each may be nil.
func (l *letters) run(f face, s string, each func(g glyph, x float64)) float64 {
	ft := l.fonts[f]
	em := ft.UnitsPerEm()
	x, last := 0.0, sfnt.GlyphIndex(0)
	for _, r := range s {
		g := l.glyph(f, r)
		if last != 0 && g.index != 0 {
			if k, err := ft.Kern(&l.buf, last, g.index, fixed.I(int(em)), font.HintingNone); err == nil {
				x += float64(k) / (64 * float64(em))
			}
		}
		if each != nil {
			each(g, x)
		}
		x += g.advance
		last = g.index
	}
	return x
}

// width returns the width of s at the given size, in the size's unit.
func (l *letters) width(f face, size float64, s string) float64 { return size * l.run(f, s, nil) }

// fit returns the size, at most size and at least least, at which s is no wider
// than room.
func (l *letters) fit(f face, size, least float64, s string, room float64) float64 {
	if w := l.width(f, size, s); w > room && w > 0 {
		size = max(least, size*room/w)
	}
	return size
}

// cut shortens s in its middle until it is no wider than room.
func (l *letters) cut(f face, size float64, s string, room float64) string {
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
func (l *letters) cutEnd(f face, size float64, s string, room float64) string {
	rs := []rune(s)
	return l.most(f, size, room, len(rs), func(keep int) string {
		return strings.TrimRight(string(rs[:keep]), " .,;") + "…"
	})
}

// most returns what short makes of the largest number of characters, at most n, at
// which that is no wider than room.
func (l *letters) most(f face, size, room float64, n int, short func(keep int) string) string {
	keep := sort.Search(n, func(i int) bool { return l.width(f, size, short(i+1)) > room })
	return short(keep)
}

// wrap breaks s into at most most lines no wider than room; what does not fit is
// cut with an ellipsis.
func (l *letters) wrap(f face, size float64, s string, room float64, most int) []string {
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

// longest is how many characters of a name or a source are looked at.
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
