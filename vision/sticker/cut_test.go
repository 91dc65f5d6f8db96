package sticker

import (
	"image"
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// swinging is picture i of a camera that pans past bars, by a third of a bar from picture to picture.
func swinging(i int) (g blockMeans) {
	for k := range g {
		g[k] = 120 + 40*math.Sin(2*math.Pi*(float64(k%cutColumns)/8-float64(i)/3))
	}
	return g
}

// A camera that pans from the first picture on gives one shot. A sudden change after a camera at rest is a cut.
func TestACutIsMoreThanTheUsualChange(t *testing.T) {
	var c cutDetector
	for i := range 12 {
		g := swinging(i)
		assert.False(t, c.next(&g), "picture %d", i)
	}
	c = cutDetector{}
	for i := range 12 {
		g := swinging(i / 6)
		assert.Equal(t, i == 6, c.next(&g), "picture %d", i)
	}
}

// movedHall is a picture of a hall from a camera that was moved along it by a number of blocks.
func movedHall(shift float64) (g blockMeans) {
	for k := range g {
		x, y := float64(k%cutColumns)+shift, float64(k/cutColumns)
		g[k] = 120 + 50*math.Sin(x/5) + 30*math.Cos(x/11+y)
	}
	return g
}

// A sudden change of the light is no cut.
func TestLightIsNoCut(t *testing.T) {
	var c cutDetector
	for i := range 20 {
		g := movedHall(0)
		if i >= 10 {
			for k := range g {
				g[k] *= 0.4
			}
		}
		assert.False(t, c.next(&g), "picture %d", i)
	}
}

// A camera that moves by a part of a block from picture to picture gives one shot.
func TestPanIsNoCut(t *testing.T) {
	var c cutDetector
	for i := range 40 {
		g := movedHall(0.3 * float64(i))
		assert.False(t, c.next(&g), "picture %d", i)
	}
}

// Flat pictures of one colour with a little noise count as correlated, though the noise is not.
func TestFlatPicturesCorrelate(t *testing.T) {
	var a, b blockMeans
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
	assert.Less(t, corr, leastCorrelation)
	_, corr = compare(&b, &b)
	assert.InDelta(t, 1, corr, 1e-12)
}

// Planks with dark joints that a camera in the hand moves up and down are one shot.
func TestShakenPlanksAreNoCut(t *testing.T) {
	var c cutDetector
	var row image.RGBA
	for i := range 60 {
		m := image.NewRGBA(image.Rect(0, 0, 640, 360))
		up := int(math.Round(9 * math.Sin(float64(i)*float64(i)/40)))
		for y := range 360 {
			for x := range 640 {
				v := 95 + 10*math.Sin(float64(y+up)/60)
				if (y+up+360)%24 < 3 {
					v = 40
				}
				m.SetRGBA(x, y, color.RGBA{uint8(v), uint8(0.8 * v), uint8(0.5 * v), 255})
			}
		}
		g := blockMeansOf(Still(m), &row)
		assert.False(t, c.next(&g), "picture %d", i)
	}
}
