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

// window is a rectangle of a picture at full resolution.
type window struct {
	image.Rectangle
	rgba image.RGBA
}

// load reads the part of the picture within r.
func (w *window) load(p Picture, r image.Rectangle) {
	w.Rectangle = r.Intersect(p.Bounds())
	n := w.Dx() * w.Dy()
	w.rgba = image.RGBA{Pix: sized(w.rgba.Pix, 4*n), Stride: 4 * w.Dx(), Rect: w.Rectangle}
	if n > 0 {
		p.Fill(&w.rgba)
	}
}

// code is the colour of pixel i as it is coded, 0 to 255.
func (w *window) code(i int) vec {
	p := w.rgba.Pix[4*i : 4*i+3 : 4*i+3]
	return vec{float64(p[0]), float64(p[1]), float64(p[2])}
}

// light is the linear light of pixel i, where 1 is white.
func (w *window) light(i int) vec {
	p := w.rgba.Pix[4*i : 4*i+3 : 4*i+3]
	return vec{linear[p[0]], linear[p[1]], linear[p[2]]}
}

// decode is the light of a value from 0 to 255, coded after sRGB (IEC 61966-2-1).
func decode(v float64) float64 {
	if v /= 255; v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// linear is decode of every code.
var linear = func() (t [256]float64) {
	for i := range t {
		t[i] = decode(float64(i))
	}
	return t
}()

// sized returns a slice of n elements, in the memory of s where that is large enough. What is in
// it is left over from before.
func sized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}
