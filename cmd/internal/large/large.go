// Package large scales large pictures down without holding all of their pixels as RGBA: for a still of
// 108 million pixels that would take 432 MB.
package large

import (
	"image"
	"image/color"
)

// Source is a picture that converts its colours part by part.
type Source interface {
	Bounds() image.Rectangle
	// Region returns the part of the picture within r, opaque.
	Region(r image.Rectangle) *image.RGBA
}

// Picture is a Source as an image.Image. Each call of At converts one pixel; to read many pixels, use
// Region.
type Picture struct {
	Rect image.Rectangle
	Part func(r image.Rectangle) *image.RGBA
}

// Of returns a source as a Picture.
func Of(s Source) Picture { return Picture{s.Bounds(), s.Region} }

func (p Picture) Bounds() image.Rectangle              { return p.Rect }
func (p Picture) Region(r image.Rectangle) *image.RGBA { return p.Part(r.Intersect(p.Rect)) }
func (p Picture) ColorModel() color.Model              { return color.RGBAModel }
func (p Picture) Opaque() bool                         { return true }

func (p Picture) At(x, y int) color.Color {
	at := image.Rect(x, y, x+1, y+1)
	if !at.In(p.Rect) {
		return color.RGBA{}
	}
	c := p.Part(at).Pix
	return color.RGBA{c[0], c[1], c[2], c[3]}
}

// Strips divides r from top to bottom into rectangles as wide as r, of at most about Strip pixels each, and
// calls fn with each.
func Strips(r image.Rectangle, fn func(image.Rectangle)) {
	rows := max(1, Strip/max(1, r.Dx()))
	for y := r.Min.Y; y < r.Max.Y; y += rows {
		fn(image.Rect(r.Min.X, y, r.Max.X, min(y+rows, r.Max.Y)))
	}
}
