package chart

import (
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"testing"
)

// BenchmarkSquad writes the drawing with the most shapes. BenchmarkPlainPNG, an empty picture of the same
// size, is the reference for BenchmarkSquadPNG.
func BenchmarkSquad(b *testing.B) {
	in := squadData()
	for b.Loop() {
		d, err := Squad(in, Options{})
		if err != nil {
			b.Fatal(err)
		}
		if err := d.SVG(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSquadPNG(b *testing.B) {
	d, err := Squad(squadData(), Options{})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := d.PNG(io.Discard, ScreenDPI); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPlainPNG(b *testing.B) {
	d, err := Squad(squadData(), Options{})
	if err != nil {
		b.Fatal(err)
	}
	w, h := d.SizeMM()
	img := image.NewRGBA(image.Rect(0, 0, int(w/25.4*ScreenDPI), int(h/25.4*ScreenDPI)))
	draw.Draw(img, img.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	for b.Loop() {
		if err := png.Encode(io.Discard, img); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkChange draws 500 readings of two years.
func BenchmarkChange(b *testing.B) {
	in := manyData(b)
	for b.Loop() {
		d, err := Change(in, Options{})
		if err != nil {
			b.Fatal(err)
		}
		if err := d.SVG(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
