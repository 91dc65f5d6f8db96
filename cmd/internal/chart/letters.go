package chart

import (
	"sort"
	"strings"
	"sync"
	"unicode"

	"github.com/go-fonts/liberation/liberationsansregular"
	"github.com/go-fonts/liberation/liberationserifitalic"
	"github.com/go-fonts/liberation/liberationserifregular"
	xfont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/text/unicode/norm"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
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

var loadFaces = sync.OnceValues(func() (faces [len(faceData)]font.Face, err error) {
	for i, data := range faceData {
		f, err := opentype.Parse(data)
		if err != nil {
			return faces, err
		}
		style := xfont.StyleNormal
		if typeface(i) == italic {
			style = xfont.StyleItalic
		}
		faces[i] = font.Face{Font: font.Font{Typeface: "Liberation", Style: style, Size: vg.Points(1000)}, Face: f}
	}
	return faces, nil
})

// letters measures text. It is good for one drawing at a time.
type letters struct {
	faces  [len(faceData)]font.Face
	widths map[wordKey]float64
}

type wordKey struct {
	f    typeface
	word string
}

func newLetters() (*letters, error) {
	faces, err := loadFaces()
	if err != nil {
		return nil, err
	}
	return &letters{faces, map[wordKey]float64{}}, nil
}

// width returns the width of s at the given size, in the size's unit.
func (l *letters) width(f typeface, size float64, s string) float64 {
	key := wordKey{f, s}
	w, ok := l.widths[key]
	if !ok {
		w = l.faces[f].Width(s).Points() / 1000
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
