package sticker

import (
	"image"
	"image/draw"
	"math"
)

// Picture is one picture of a clip, upright. Pixel (0, 0) is the top left one.
type Picture interface {
	// Bounds returns the rectangle of the picture, from (0, 0).
	Bounds() image.Rectangle

	// Fill fills dst, whose bounds are in coordinates of the picture, with the part of the
	// picture there, opaque. Pixels of dst outside the picture are left as they are.
	Fill(dst *image.RGBA)
}

// Still makes a Picture of an image.
func Still(m image.Image) Picture {
	b := m.Bounds()
	p, ok := m.(*image.RGBA)
	if !ok || b.Min != (image.Point{}) {
		p = image.NewRGBA(image.Rectangle{Max: b.Size()})
		draw.Draw(p, p.Rect, m, b.Min, draw.Src)
	}
	return still{p}
}

type still struct{ *image.RGBA }

func (s still) Fill(dst *image.RGBA) {
	draw.Draw(dst, dst.Rect.Intersect(s.Rect), s, dst.Rect.Intersect(s.Rect).Min, draw.Src)
}

// window is a part of a picture in linear light, where 1 is a white wall. What a lens, a moving
// sticker and a pixel's square do to the light is a mean there, and in coded values is not.
type window struct {
	image.Rectangle
	coded image.RGBA
	light [][3]float32
	spare []float32
	part  part
	shift [2]float32 // how far the colours lie to the right of where they belong, and below, px
}

// load reads the part of the picture within r.
func (w *window) load(p Picture, r image.Rectangle) {
	w.Rectangle = r.Intersect(p.Bounds())
	n := w.Dx() * w.Dy()
	w.coded = image.RGBA{Pix: fit(w.coded.Pix, 4*n), Stride: 4 * w.Dx(), Rect: w.Rectangle}
	w.light = fit(w.light, n)
	if n == 0 {
		return
	}
	p.Fill(&w.coded)
	if w.part != whole {
		w.split()
		return
	}
	if w.shift != [2]float32{} {
		w.realign()
		return
	}
	linearise(w.light, w.coded.Pix)
}

// at is the light at a place in the window.
func (w *window) at(x, y int) *[3]float32 { return &w.light[(y-w.Min.Y)*w.Dx()+x-w.Min.X] }

// decode is the light of a value from 0 to 255, coded after sRGB (IEC 61966-2-1).
func decode(v float64) float64 {
	if v /= 255; v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// linear is decode of every code.
var linear = func() (t [256]float32) {
	for i := range t {
		t[i] = float32(decode(float64(i)))
	}
	return t
}()

// fit is resize without clearing.
func fit[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}
