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

// hall is what a camera shows of a hall that it is moved along by so many blocks.
func hall(shift float64) (g gist) {
	for k := range g {
		x, y := float64(k%cutColumns)+shift, float64(k/cutColumns)
		g[k] = 120 + 50*math.Sin(x/5) + 30*math.Cos(x/11+y)
	}
	return g
}

// Another light leaves what is seen as it is: it is no cut, however sudden. Nor is a picture that turns black and back.
func TestLightIsNoCut(t *testing.T) {
	var c cutter
	for i := range 20 {
		g := hall(0)
		if i >= 10 {
			for k := range g {
				g[k] *= 0.4
			}
		}
		assert.False(t, c.next(&g), "picture %d", i)
	}
}

// A camera that is moved by a part of a block from picture to picture shows one shot.
func TestPanIsNoCut(t *testing.T) {
	var c cutter
	for i := range 40 {
		g := hall(0.3 * float64(i))
		assert.False(t, c.next(&g), "picture %d", i)
	}
}

// Pictures of one colour are alike, up to a little noise: what is flat has no correlation of its own.
func TestFlatPicturesAreAlike(t *testing.T) {
	var a, b gist
	for k := range a {
		a[k], b[k] = 100+float64(k%2)/2, 100+float64(k/2%2)/2
	}
	differ, corr := compare(&a, &b)
	assert.Less(t, differ, 1.0)
	assert.Greater(t, corr, 0.9)
	for k := range b {
		b[k] = 100 + 80*float64(k%2)
	}
	_, corr = compare(&a, &b)
	assert.Less(t, corr, alike)
	_, corr = compare(&b, &b)
	assert.InDelta(t, 1, corr, 1e-12)
}
