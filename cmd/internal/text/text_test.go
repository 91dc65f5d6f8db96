package text

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestOneLine(t *testing.T) {
	assert.Equal(t, "Zoë ?[31m red ?", OneLine(" Zoë\n\t\x1b[31m  red \u202e"))
	assert.Equal(t, "Zoë\n?[0m", Printable("Zoë\n\x1b[0m"))
}
