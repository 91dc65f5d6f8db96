package output

import (
	"bytes"
	"ecart/cmd/internal/bidi"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Steers says that a character changes how the text around it is shown, or steers a
// terminal, and shows nothing itself: what package bidi takes out, control characters
// other than tab and line feed, the line and paragraph separators, and the mark of
// the byte order.
func Steers(r rune) bool {
	switch r {
	case '\n', '\t':
		return false
	case '\u2028', '\u2029', '\ufeff':
		return true
	}
	return bidi.Is(r) || unicode.IsControl(r)
}

// Visible puts a question mark in the place of each character that [Steers].
func Visible(s string) string {
	return strings.Map(func(r rune) rune {
		if Steers(r) {
			return '?'
		}
		return r
	}, s)
}

// EscapeJSON writes the characters that [Steers], of which JSON allows some in a
// string as they are, as \u escapes: the text means the same.
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

// escaped leaves the control characters of ASCII alone but DEL: encoders escape
// them, and white space stands between the parts of a JSON text.
func escaped(r rune) bool { return r >= 0x7f && Steers(r) }

// CSV writes a table as spreadsheets and RFC 4180 want it, in which no cell is taken
// for a formula.
type CSV struct{ w *csv.Writer }

// NewCSV writes fields parted by comma, lines ended by CR LF, in UTF-8. marked puts
// the byte-order mark first by which spreadsheets know UTF-8.
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

// Cell is a text as it stands in a cell of a table: characters that [Steers] are
// shown as question marks, and one that a spreadsheet would take for a formula has
// an apostrophe before it. Numbers stay as they are.
func Cell(s string) string {
	s = Visible(s)
	if _, err := strconv.ParseFloat(s, 64); err == nil {
		return s
	}
	// spreadsheets drop white space before a formula, and take full-width signs for
	// the usual ones
	if strings.HasPrefix(s, "\t") || strings.HasPrefix(s, "\n") || strings.ContainsAny(firstOf(strings.TrimSpace(s)), "=+-@\uff1d\uff0b\uff0d\uff20") {
		return "'" + s
	}
	return s
}

func firstOf(s string) string {
	_, n := utf8.DecodeRuneInString(s)
	return s[:n]
}
