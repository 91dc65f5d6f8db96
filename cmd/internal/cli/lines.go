package cli

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// printWidth is that of a phone's terminal.
const printWidth = 48

// printer gathers lines no wider than a phone's screen.
type printer struct{ b strings.Builder }

// line adds one line as it is.
func (p *printer) line(format string, a ...any) {
	p.b.WriteString(strings.TrimRight(printable(fmt.Sprintf(format, a...)), " ") + "\n")
}

// wrap adds text broken between words, head before the first line and as much
// space before the others. A word longer than the screen stays whole.
func (p *printer) wrap(head, text string) {
	for i, row := range broken(text, printWidth-utf8.RuneCountInString(head)) {
		if i == 1 {
			head = strings.Repeat(" ", utf8.RuneCountInString(head))
		}
		p.line("%s%s", head, row)
	}
}

// wrapped is text broken between words at a width.
func wrapped(text string, width int) string { return strings.Join(broken(text, width), "\n") }

// broken breaks text between words into rows of a width, one row at least. A
// sign stays with its number.
func broken(text string, width int) []string {
	text = strings.ReplaceAll(strings.ReplaceAll(text, "± ", "±"+glue), " %", glue+"%")
	var rows []string
	row, n := "", 0
	for i, word := range strings.Fields(text) {
		w := utf8.RuneCountInString(word)
		switch {
		case i == 0:
			row, n = word, w
		case n+1+w > width:
			rows = append(rows, row)
			row, n = word, w
		default:
			row, n = row+" "+word, n+1+w
		}
	}
	rows = append(rows, row)
	for i := range rows {
		rows[i] = strings.ReplaceAll(rows[i], glue, " ")
	}
	return rows
}

// glue holds two words together while text is broken.
const glue = "\x00"
