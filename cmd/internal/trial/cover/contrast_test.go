package main

import (
	"image"
	"image/color"
	"image/draw"
	"testing"

	"github.com/stretchr/testify/assert"

	"ecart/cmd/internal/trial/scene"
	"ecart/vision/sticker"
)

// A disc has the contrast of its colour to the background; where it was moved away or dimmed, too little is left of it.
func TestShows(t *testing.T) {
	mat := 80 // the first column of a mat beside it
	at := func(x int, c color.RGBA) contrast {
		img := image.NewRGBA(image.Rect(0, 0, 80, 60))
		draw.Draw(img, img.Rect, image.NewUniform(color.RGBA{100, 90, 80, 255}), image.Point{}, draw.Src)
		for v := range 60 {
			for u := range 80 {
				if (u-x)*(u-x)+(v-30)*(v-30) <= 16 || u >= mat {
					img.SetRGBA(u, v, c)
				}
			}
		}
		return contrastAt(sticker.Still(img), &scene.SketchMark{Pixel: [2]float64{40, 30}, RadiusPx: 4})
	}
	whole := at(40, color.RGBA{200, 40, 160, 255})
	assert.InDeltaSlice(t, []float64{100, -50, 80}, whole.colour[:], 0.5)
	assert.True(t, shows(whole, at(40, color.RGBA{170, 60, 130, 255})), "two thirds of it")
	assert.False(t, shows(whole, at(40, color.RGBA{130, 80, 100, 255})), "a third")
	assert.False(t, shows(whole, at(48, color.RGBA{200, 40, 160, 255})), "left where it was")
	assert.False(t, shows(at(40, color.RGBA{103, 92, 80, 255}), at(40, color.RGBA{103, 92, 80, 255})), "on its own colour")
	mat = 46
	beside := at(40, color.RGBA{200, 40, 160, 255})
	assert.InDelta(t, 0.3, beside.alike, 0.1)
	assert.False(t, shows(whole, beside), "beside a mat of its own colour")
}
