// Package text makes text from files and users safe to display: on one line, without
// characters that control a terminal.
package text

import (
	"regexp"
	"strings"
	"unicode"
)

// And joins words: "a", "a and b", "a, b and c".
func And(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

// OneLine returns s on one line, with single spaces and only printable characters.
func OneLine(s string) string { return strings.Join(strings.Fields(Printable(s)), " ") }

// Printable returns s with a question mark for each character that is neither printable
// nor white space, such as an escape code in a file name.
func Printable(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) || unicode.IsSpace(r) {
			return r
		}
		return '?'
	}, s)
}

var (
	beforeUnit = regexp.MustCompile(`(\d) (%|°|(?:mm|cm|m|px|ms|s|Hz)\b)`)
	plusMinus  = regexp.MustCompile(`± (\d)`)
)

// KeepUnits puts a no-break space between a number and its unit, and between "±" and a
// number.
func KeepUnits(s string) string {
	return plusMinus.ReplaceAllString(beforeUnit.ReplaceAllString(s, "$1\u00a0$2"), "±\u00a0$1")
}
