package text

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestOneLine(t *testing.T) {
	assert.Equal(t, "Zoë ?[31m red ?", OneLine(" Zoë\n\t\x1b[31m  red \u202e"))
	assert.Equal(t, "Zoë\n?[0m", Printable("Zoë\n\x1b[0m"))
}

func TestAnd(t *testing.T) {
	for want, words := range map[string][]string{"": nil, "a": {"a"}, "a and b": {"a", "b"}, "a, b and c": {"a", "b", "c"}} {
		assert.Equal(t, want, And(words))
	}
}
