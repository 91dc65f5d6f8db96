package terminal

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestBroken(t *testing.T) {
	for _, c := range []struct {
		text  string
		width int
		want  []string
	}{
		{"", 10, []string{""}},
		{"one", 10, []string{"one"}},
		{"one two", 7, []string{"one two"}},
		{"one two", 6, []string{"one", "two"}},
		{"  one \n two  ", 7, []string{"one two"}},
		{"über größe", 10, []string{"über größe"}}, // letters count, not bytes
		{"a-word-that-is-too-long for it", 6, []string{"a-word-that-is-too-long", "for it"}},
		{"becomes ± 5.3° now", 12, []string{"becomes", "± 5.3° now"}}, // a sign stays with its number
		{"over 99 %", 7, []string{"over", "99 %"}},
	} {
		assert.Equal(t, c.want, Broken(c.text, c.width), "%q at %d", c.text, c.width)
	}
}

// Every row fits or is one word, no word is lost, and no row has space for
// the next word.
func TestBrokenRows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(rapid.StringMatching(`[a-zé]{1,12}`), 1, 30).Draw(t, "words")
		width := rapid.IntRange(4, 40).Draw(t, "width")
		rows := Broken(strings.Join(words, " "), width)
		assert.Equal(t, words, strings.Fields(strings.Join(rows, " ")))
		for i, row := range rows {
			n := utf8.RuneCountInString(row)
			assert.True(t, n <= width || !strings.Contains(row, " "), "%q is wider than %d", row, width)
			if i+1 < len(rows) {
				next, _, _ := strings.Cut(rows[i+1], " ")
				assert.Greater(t, n+1+utf8.RuneCountInString(next), width, "%q had room for %q", row, next)
			}
		}
	})
}

func TestWrap(t *testing.T) {
	var p Printer
	p.Wrap("caution: ", "this measures, it does not diagnose or prescribe; pain means stop")
	p.Wrap("", "short")
	assert.Equal(t, strings.Join([]string{
		//        1         2         3         4       8
		"caution: this measures, it does not diagnose or",
		"         prescribe; pain means stop",
		"short",
		"",
	}, "\n"), p.b.String())
}

func TestOneLine(t *testing.T) {
	assert.Equal(t, "one two three", OneLine(" one\n\ttwo  three\r\n"))
	assert.Equal(t, "?[31mred?[0m", OneLine("\x1b[31mred\x1b[0m"), "a file's name cannot steer the terminal")
	assert.Equal(t, "Größe ± 5°", OneLine("Größe ± 5°"))
	assert.Equal(t, "a?b", OneLine("a\u202eb"), "nor turn its text around")
}

func TestRow(t *testing.T) {
	for _, c := range []struct{ label, where, want string }{
		{"0.10", "0-20 short", "  ░ 0.10                    0-20 short      85 %\n"},
		{"meets it", "", "  ░ meets it                                85 %\n"},
		// a label without space beside "where" is above it
		{"another element or no value", "over 45 short", "  ░ another element or no value\n                         over 45 short      85 %\n"},
		// and is broken if it does not fit on a row
		{"the jury takes off what it likes", "", "  ░ the jury takes off what it likes        85 %\n"},
		{"the jury takes off what it finds fit for it", "", "  ░ the jury takes off what it finds\n    fit for it                              85 %\n"},
	} {
		var p Printer
		p.row("░", c.label, c.where, 0.85)
		assert.Equal(t, c.want, p.b.String())
	}
}
