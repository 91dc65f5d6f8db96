package terminal

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// Widths of lines, in characters.
const (
	PrintWidth = 48 // a phone's terminal
	HelpWidth  = 80 // the narrowest terminal on a desk
)

// Printer collects lines of at most Wide characters.
type Printer struct {
	Wide int // 0: PrintWidth
	b    strings.Builder
}

// Print writes the lines.
func (p *Printer) Print(w io.Writer) error {
	_, err := io.WriteString(w, p.b.String())
	return err
}

// Line adds one line, without wrapping.
func (p *Printer) Line(format string, a ...any) {
	p.b.WriteString(strings.TrimRight(Printable(fmt.Sprintf(format, a...)), " ") + "\n")
}

// Wrap adds text wrapped between words: head stands before the first line, spaces of the same
// width before the others. A word wider than the line is not broken.
func (p *Printer) Wrap(head, text string) {
	wide := p.Wide
	if wide == 0 {
		wide = PrintWidth
	}
	for i, row := range Broken(text, wide-utf8.RuneCountInString(head)) {
		if i == 1 {
			head = strings.Repeat(" ", utf8.RuneCountInString(head))
		}
		p.Line("%s%s", head, row)
	}
}

// Wrapped returns text wrapped between words at a width in characters.
func Wrapped(text string, width int) string { return strings.Join(Broken(text, width), "\n") }

// Broken wraps text between words into rows of at most width characters and returns at least
// one row. Signs and units stay with their numbers.
func Broken(text string, width int) []string {
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

// glue stands for a space at which text is not broken.
const glue = "\x00"

func Half(interval [2]float64) float64 { return (interval[1] - interval[0]) / 2 }

// Plain returns a value without degree signs, for a column.
func Plain(s string) string { return strings.ReplaceAll(s, "°", "") }

func Padded(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

// Held returns words that Broken keeps on one row.
func Held(s string) string { return strings.ReplaceAll(s, " ", glue) }
