package page

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/reading"
)

// The page speaks of what is on the page: no command and no flag stands in what it says.
func TestNoTerminalWords(t *testing.T) {
	_, err := figure.HeadCover([]reading.Placement{{Landmark: "hip", X: 1, Y: 2}}, "hip-split")
	said := onPage(err).(hinted)
	for _, s := range []string{
		"make a lens file of this camera with 'ecart lens' and give it with --lens",
		"how well Kit places marks is not known, and the usual figure is taken; 'ecart repeat' finds it",
		"too few placements say how well Kit places marks, and the usual figure is taken; 'ecart repeat' finds a better one",
		"stand square to the movement, measured along the floor, and say --camera squared",
		"say how tall the athlete is, and give --distance",
	} {
		assert.NotContains(t, unflagged(s), "ecart", "%s", s)
		assert.NotContains(t, unflagged(s), "--", "%s", s)
	}
	assert.Equal(t, "mark the shoulder and the hip, or draw the cover by hand", said.Hint())
}
