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

// longest is how many characters of a name, a reason or a source are looked at.
const longest = 400

// Clean makes s fit for one line: composed characters, single spaces, nothing
// invisible, and no more than 400 characters.
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

// Spaced turns a name as typed into one as read: "hip-split", "hip split".
func Spaced(name string) string { return strings.ReplaceAll(Clean(name), "-", " ") }

// MeasureTitle is the heading of a drawing of the named measure.
func MeasureTitle(measure string) string {
	if s := Spaced(measure); s != "" {
		return s
	}
	return "angle"
}

// AskedWords says what is asked.
func AskedWords(ask float64, atMost bool) string {
	if atMost && ask > 0 {
		return "at most " + Deg(ask) + "°"
	}
	return "asked " + Deg(ask) + "°"
}

// Of100 words a probability: "94 of 100". What is not certain is never worded as
// if it were.
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

// Deg writes a round figure, as rule books give them: at most two decimals.
func Deg(v float64) string {
	// Adding 0 makes a plain zero of a negative one.
	return Minus(strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64))
}

// Minus puts true minus signs in place of the hyphens before figures.
func Minus(s string) string {
	return reading.Minus(s)
}

// bandWords words a band's deduction; ranges of figures get a dash.
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
