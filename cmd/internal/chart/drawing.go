package chart

import (
	"image/png"
	"io"

	"ecart/cmd/internal/draw"
)

// Drawing is a chart with a computed layout.
type Drawing struct {
	Title string // what it shows, in a few words
	Alt   string // the content in a sentence, for readers who cannot see it
	sheet *sheet
}

// pointsPerMM is the number of points of 1/72 inch in a millimetre.
const pointsPerMM = 72 / 25.4

// SizeMM returns the size of the drawing on paper, mm.
func (d *Drawing) SizeMM() (width, height float64) {
	return d.sheet.W / pointsPerMM, d.sheet.H / pointsPerMM
}

// SVG writes the drawing as one SVG element, for use as a file or in a page.
func (d *Drawing) SVG(w io.Writer) error {
	_, err := io.WriteString(w, d.sheet.SVG(d.Title, d.Alt, 1/pointsPerMM))
	return err
}

// Resolutions that a picture can have, in dots per inch.
const (
	ScreenDPI = 144
	PrintDPI  = 300
	mostDPI   = 1200
)

// PNG writes the drawing as a PNG without metadata. dpi is the resolution in dots per
// inch; 0 means ScreenDPI.
func (d *Drawing) PNG(w io.Writer, dpi int) error {
	if dpi == 0 {
		dpi = ScreenDPI
	}
	if dpi < 36 || dpi > mostDPI {
		return draw.Problem("ask for 36 to 1200", "a picture cannot have %d dots per inch", dpi)
	}
	return png.Encode(w, d.sheet.Picture(float64(dpi)/72))
}
