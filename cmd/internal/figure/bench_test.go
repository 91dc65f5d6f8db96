package figure

import (
	"image"
	"io"
	"testing"

	xdraw "golang.org/x/image/draw"
)

// BenchmarkFrame draws a page on a decoded frame of 1080p and of 4K. "scaled" is the
// reference: the same frame scaled to the print's size with the same kernel, without drawing.
func BenchmarkFrame(b *testing.B) {
	for name, size := range map[string]image.Point{"1080p": {1920, 1080}, "4K": {3840, 2160}} {
		s := split(size.X, size.Y, 8, 9.6, 1.6).leap()
		img := image.NewYCbCr(image.Rectangle{Max: size}, image.YCbCrSubsampleRatio420)
		for i := range img.Y {
			img.Y[i] = uint8(i * 7)
		}
		b.Run(name+"/drawn", func(b *testing.B) {
			for b.Loop() {
				if _, err := Frame(img, s.r, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(name+"/scaled", func(b *testing.B) {
			dst := image.NewRGBA(image.Rect(0, 0, 1184, 666))
			for b.Loop() {
				xdraw.CatmullRom.Scale(dst, dst.Bounds(), img, img.Bounds(), xdraw.Over, nil)
			}
		})
	}
}

// BenchmarkOverlay draws the fan on one picture of a 1080p clip. "copied" is the reference:
// the same picture copied, without drawing.
func BenchmarkOverlay(b *testing.B) {
	s := split(1920, 1080, 8, 9.6, 1.6).leap()
	img := image.NewRGBA(image.Rect(0, 0, 1920, 1080))
	for i := range img.Pix {
		img.Pix[i] = uint8(i*7) | 0xff*uint8(i%4/3)
	}
	b.Run("drawn", func(b *testing.B) {
		for b.Loop() {
			if _, err := Overlay(img, s.r, ""); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("copied", func(b *testing.B) {
		dst := image.NewRGBA(img.Rect)
		for b.Loop() {
			xdraw.Draw(dst, dst.Rect, img, image.Point{}, xdraw.Src)
		}
	})
}

func BenchmarkEncode(b *testing.B) {
	s := split(1920, 1080, 8, 9.6, 1.6).leap()
	img, err := Frame(hall(s.r), s.r, Options{})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := EncodePNG(io.Discard, img); err != nil {
			b.Fatal(err)
		}
	}
}
