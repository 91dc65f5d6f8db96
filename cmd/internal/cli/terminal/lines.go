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

// Printer collects lines of at most wide characters.
type Printer struct {
	Wide int // 0: printWidth
	b    strings.Builder
}

// Print writes the lines.
func (p *Printer) Print(w io.Writer) error {
	_, err := io.WriteString(w, p.b.String())
	return err
}

// Line adds one line as it is.
func (p *Printer) Line(format string, a ...any) {
	p.b.WriteString(strings.TrimRight(Printable(fmt.Sprintf(format, a...)), " ") + "\n")
}

// Wrap adds text broken between words, head before the first line and as much
// space before the others. A word longer than the screen stays whole.
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

// Wrapped is text broken between words at a width.
func Wrapped(text string, width int) string { return strings.Join(Broken(text, width), "\n") }

// Broken breaks text between words into rows of a width, one row at least. A
// sign stays with its number.
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

// glue holds two words together while text is broken.
const glue = "\x00"

func Half(interval [2]float64) float64 { return (interval[1] - interval[0]) / 2 }

// Plain is a value without its degree signs, for a column.
func Plain(s string) string { return strings.ReplaceAll(s, "°", "") }

func Padded(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

// Held keeps words on one row when text is broken.
func Held(s string) string { return strings.ReplaceAll(s, " ", glue) }
