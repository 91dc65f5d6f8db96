package draw

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"ecart/cmd/internal/reading"
)

// longest is the largest length of a name, a reason or a source, in characters.
const longest = 400

// Clean prepares s for display on one line: composed characters, single spaces, no
// invisible characters, and at most 400 characters.
func Clean(s string) string {
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

// Spaced returns a typed name for display: "hip split" for "hip-split".
func Spaced(name string) string { return strings.ReplaceAll(Clean(name), "-", " ") }

// MeasureTitle returns the heading of a drawing of the named measure.
func MeasureTitle(measure string) string {
	if s := Spaced(measure); s != "" {
		return s
	}
	return "angle"
}

// AskedWords returns the requirement in words.
func AskedWords(ask float64, atMost bool) string {
	if atMost && ask > 0 {
		return "at most " + Deg(ask) + "°"
	}
	return "asked " + Deg(ask) + "°"
}

// Of100 returns a probability in words: "94 of 100". It never states certainty.
func Of100(p float64) string {
	switch n := math.Round(100 * p); {
	case !Finite(p):
		return "unknown"
	case n <= 0:
		return "fewer than 1 of 100"
	case n >= 100:
		return "more than 99 of 100"
	default:
		return fmt.Sprintf("%.0f of 100", n)
	}
}

// Deg formats an angle as rule books do, with at most two decimals.
func Deg(v float64) string {
	// Adding 0 converts -0 to 0.
	return Minus(strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64))
}

// Minus replaces hyphens before digits by minus signs.
func Minus(s string) string {
	return reading.Minus(s)
}

// bandWords returns a band's deduction in words, with a dash in ranges of numbers.
func bandWords(b reading.BandProbability) string {
	s := Clean(b.Deduction)
	if s == "" {
		s = Clean(b.Label)
	}
	rs := []rune(s)
	digit := func(r rune) bool { return r >= '0' && r <= '9' }
	for i := 1; i+1 < len(rs); i++ {
		if rs[i] == '-' && digit(rs[i-1]) && digit(rs[i+1]) {
			rs[i] = '–'
		}
	}
	if len(rs) == 0 {
		return "band"
	}
	return string(rs)
}

// chance is the short form of Of100.
func chance(p float64) string {
	if !Finite(p) {
		return "unknown"
	}
	return reading.Percent(p)
}
