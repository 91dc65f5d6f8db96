package output

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"ecart/cmd/internal/bidi"
)

// Steers reports whether a character is invisible and changes how text around it is
// displayed, or controls a terminal: the characters of package bidi, control characters
// other than tab and line feed, the line and paragraph separators, and the byte-order
// mark.
func Steers(r rune) bool {
	switch r {
	case '\n', '\t':
		return false
	case '\u2028', '\u2029', '\ufeff':
		return true
	}
	return bidi.Is(r) || unicode.IsControl(r)
}

// Visible replaces each character that [Steers] by a question mark.
func Visible(s string) string {
	return strings.Map(func(r rune) rune {
		if Steers(r) {
			return '?'
		}
		return r
	}, s)
}

// EscapeJSON writes characters that [Steers] as \u escapes, which keep the value. JSON allows
// some of them unescaped in strings.
func EscapeJSON(text []byte) []byte {
	if bytes.IndexFunc(text, escaped) < 0 {
		return text
	}
	var b []byte
	for len(text) > 0 {
		r, n := utf8.DecodeRune(text)
		if escaped(r) {
			b = fmt.Appendf(b, `\u%04x`, r)
		} else {
			b = append(b, text[:n]...)
		}
		text = text[n:]
	}
	return b
}

// escaped reports whether EscapeJSON escapes r. ASCII control characters except DEL are
// excluded: encoders escape them in strings, and outside they are white space.
func escaped(r rune) bool { return r >= 0x7f && Steers(r) }

// CSV writes a table for spreadsheets (RFC 4180) in which no cell is read as a formula.
type CSV struct{ w *csv.Writer }

// NewCSV returns a writer in UTF-8 with fields separated by comma and lines ended by CR LF.
// If marked, the text begins with a byte-order mark, by which spreadsheets recognise UTF-8.
func NewCSV(w io.Writer, comma rune, marked bool) (*CSV, error) {
	if marked {
		if _, err := io.WriteString(w, "\ufeff"); err != nil {
			return nil, err
		}
	}
	c := csv.NewWriter(w)
	c.Comma, c.UseCRLF = comma, true
	return &CSV{c}, nil
}

// Write adds a row.
func (c *CSV) Write(cells ...string) error {
	row := make([]string, len(cells))
	for i, s := range cells {
		row[i] = Cell(s)
	}
	return c.w.Write(row)
}

// Flush ends the table.
func (c *CSV) Flush() error { c.w.Flush(); return c.w.Error() }

// Cell returns a text for a cell of a table. Characters that [Steers] become question marks,
// and a text that a spreadsheet would read as a formula gets an apostrophe before it.
// Numbers stay as they are.
func Cell(s string) string {
	s = Visible(s)
	if _, err := strconv.ParseFloat(s, 64); err == nil {
		return s
	}
	// spreadsheets ignore white space before a formula, and treat full-width signs as the
	// usual ones
	if strings.HasPrefix(s, "\t") || strings.HasPrefix(s, "\n") || strings.ContainsAny(firstOf(strings.TrimSpace(s)), "=+-@\uff1d\uff0b\uff0d\uff20") {
		return "'" + s
	}
	return s
}

// Uncell returns the text of a cell without the apostrophe that [Cell] put before it.
func Uncell(s string) string {
	if text, ok := strings.CutPrefix(s, "'"); ok && Cell(text) == s {
		return text
	}
	return s
}

func firstOf(s string) string {
	_, n := utf8.DecodeRuneInString(s)
	return s[:n]
}
