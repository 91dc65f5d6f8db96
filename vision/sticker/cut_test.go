package sticker

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// swung is what a camera shows that swings past bars: each picture is a third of a bar further on.
func swung(i int) (g gist) {
	for k := range g {
		g[k] = 120 + 40*math.Sin(2*math.Pi*(float64(k%cutColumns)/8-float64(i)/3))
	}
	return g
}

// A camera that swings from the first picture on shows one shot; another wall after a camera that stands still is another one.
func TestCutIsFarFromWhatWasUsual(t *testing.T) {
	var c cutter
	for i := range 12 {
		g := swung(i)
		assert.False(t, c.next(&g), "picture %d", i)
	}
	c = cutter{}
	for i := range 12 {
		g := swung(i / 6)
		assert.Equal(t, i == 6, c.next(&g), "picture %d", i)
	}
}
