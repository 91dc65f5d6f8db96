package text_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/cmd/internal/text"
)

func TestOneLine(t *testing.T) {
	assert.Equal(t, "Zoë ?[31m red ?", text.OneLine(" Zoë\n\t\x1b[31m  red \u202e"))
	assert.Equal(t, "Zoë\n?[0m", text.Printable("Zoë\n\x1b[0m"))
}

func TestAnd(t *testing.T) {
	for want, words := range map[string][]string{"": nil, "a": {"a"}, "a and b": {"a", "b"}, "a, b and c": {"a", "b", "c"}} {
		assert.Equal(t, want, text.And(words))
	}
}

func TestKeepUnits(t *testing.T) {
	for plain, want := range map[string]string{
		"between 157 and 170, 95 % sure":         "between 157 and 170, 95_% sure",
		"164.1° ± 6.0°":                          "164.1° ±_6.0°",
		"at 1.234 s, 5 m away, 26 mm, 3 px":      "at 1.234_s, 5_m away, 26_mm, 3_px",
		"10 % 20 %":                              "10_% 20_%",
		"12 months, 3 sides, 4 marks, 95 of 100": "12 months, 3 sides, 4 marks, 95 of 100",
	} {
		assert.Equal(t, want, strings.ReplaceAll(text.KeepUnits(plain), "\u00a0", "_"))
		assert.Equal(t, text.KeepUnits(plain), text.KeepUnits(text.KeepUnits(plain)))
	}
}
