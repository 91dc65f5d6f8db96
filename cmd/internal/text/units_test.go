package text_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/cmd/internal/text"
)

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
