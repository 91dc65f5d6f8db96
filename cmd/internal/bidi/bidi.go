// Package bidi removes invisible characters that change the direction of text. With
// them a name can look like another one and can reorder the text next to it. They are
// the characters with the property Bidi_Control of Unicode Standard Annex 9: U+061C,
// U+200E, U+200F, U+202A to U+202E and U+2066 to U+2069. Letters of right-to-left
// scripts do not need them and stay unchanged.
package bidi

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Is reports whether r is a Bidi_Control character.
func Is(r rune) bool { return unicode.Is(unicode.Bidi_Control, r) }

// Plain returns s with each Bidi_Control character replaced by U+FFFD, the replacement character. It is
// for text that people read, and may be applied to all of a JSON or HTML document.
func Plain(s string) string {
	return strings.Map(func(r rune) rune {
		if Is(r) {
			return utf8.RuneError
		}
		return r
	}, s)
}

// EscapeJSON returns JSON with each Bidi_Control character written as \uXXXX. It is for data that is read
// again and must keep its values. Valid JSON has such characters only in strings.
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
