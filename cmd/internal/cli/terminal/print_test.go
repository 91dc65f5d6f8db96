package terminal

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestRow(t *testing.T) {
	for _, c := range []struct{ label, where, want string }{
		{"0.10", "0-20 short", "  ░ 0.10                    0-20 short      85 %\n"},
		{"meets it", "", "  ░ meets it                                85 %\n"},
		// a label with no room beside where stands above it
		{"another element or no value", "over 45 short", "  ░ another element or no value\n                         over 45 short      85 %\n"},
		// and is broken where it has no room at all
		{"the jury takes off what it likes", "", "  ░ the jury takes off what it likes        85 %\n"},
		{"the jury takes off what it finds fit for it", "", "  ░ the jury takes off what it finds\n    fit for it                              85 %\n"},
	} {
		var p Printer
		p.row("░", c.label, c.where, 0.85)
		assert.Equal(t, c.want, p.b.String())
	}
}
