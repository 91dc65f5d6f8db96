// Package text makes text from files and people safe to show: on one line, and
// without characters that would control a terminal.
package text

import (
	"strings"
	"unicode"
)

// OneLine is s on one line, with single spaces and only printable characters.
func OneLine(s string) string { return strings.Join(strings.Fields(Printable(s)), " ") }

// Printable is s with a question mark for each character that is neither printable
// nor white space, such as the escape codes that a file's name may hold.
func Printable(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) || unicode.IsSpace(r) {
			return r
		}
		return '?'
	}, s)
}
