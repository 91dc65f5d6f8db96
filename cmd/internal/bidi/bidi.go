// Package bidi takes the invisible characters out of text that turn its direction
// around. With them a name can look like another one, and can disturb what stands
// beside it. They are those with the property Bidi_Control of Unicode Standard Annex 9:
// U+061C, U+200E, U+200F, U+202A to U+202E and U+2066 to U+2069. Letters of scripts
// that run from right to left need none of them and stay as they are.
package bidi

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Is says whether r turns the direction of text around.
func Is(r rune) bool { return unicode.Is(unicode.Bidi_Control, r) }

// Plain is s with U+FFFD, the replacement character, for each of them: for text that
// people look at. The text inside JSON or HTML may be given as well.
func Plain(s string) string {
	return strings.Map(func(r rune) rune {
		if Is(r) {
			return utf8.RuneError
		}
		return r
	}, s)
}

// EscapeJSON is JSON with each of them written as \uXXXX: for data that is read again,
// where the value must stay what it is. In valid JSON they stand inside strings only.
func EscapeJSON(data []byte) []byte {
	if bytes.IndexFunc(data, Is) < 0 {
		return data
	}
	var out bytes.Buffer
	for _, r := range string(data) {
		if Is(r) {
			fmt.Fprintf(&out, `\u%04x`, r)
		} else {
			out.WriteRune(r)
		}
	}
	return out.Bytes()
}
