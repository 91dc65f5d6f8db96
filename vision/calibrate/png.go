package calibrate

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"

	"github.com/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// wantedDPI is the approximate resolution of the PNG, pixels per inch.
const wantedDPI = 300

// WritePNG writes the sheet as a PNG with its physical size (chunk pHYs). A square has a
// whole number of pixels, so that its edges are sharp. The resolution in pixels per metre
// follows from that; rounded to a whole number it is exact to 5e-5.
func (p *Print) WritePNG(w io.Writer) error {
	side := math.Max(1, math.Round(p.Board.SquareMm*wantedDPI/25.4)) // px
	scale := side / p.Board.SquareMm                                 // px per mm
	px := func(mm float64) int { return int(math.Round(mm * scale)) }
	img := image.NewGray(image.Rect(0, 0, px(p.WidthMm), px(p.HeightMm)))
	draw.Draw(img, img.Rect, image.White, image.Point{}, draw.Src)
	black := func(r image.Rectangle) { draw.Draw(img, r, image.Black, image.Point{}, draw.Src) }
	corner := image.Pt(px(p.left), px(p.top))
	n := int(side)
	for row := range p.Board.Rows + 1 {
		for col := range p.Board.Columns + 1 {
			if square(col, row) {
				black(image.Rect(col*n, row*n, (col+1)*n, (row+1)*n).Add(corner))
			}
		}
	}
	half := max(1, px(strokeMm)) / 2
	for _, s := range p.strokes {
		black(image.Rect(px(s.x0)-half, px(s.y0)-half, px(s.x1)+half+1, px(s.y1)+half+1))
	}
	if err := p.drawText(img, scale); err != nil {
		return err
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		return err
	}
	_, err := w.Write(withSize(b.Bytes(), uint32(math.Round(1000*scale))))
	return err
}

// drawText draws the text, in a font with the letter widths of the PDF's.
func (p *Print) drawText(img draw.Image, scale float64) error {
	f, err := opentype.Parse(liberationsansregular.TTF)
	if err != nil {
		return err
	}
	for _, t := range p.labels {
		face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: t.size * scale, DPI: 72, Hinting: font.HintingNone})
		if err != nil {
			return err
		}
		d := font.Drawer{Dst: img, Src: image.NewUniform(color.Black), Face: face,
			Dot: fixed.Point26_6{X: fixed.Int26_6(64 * t.x * scale), Y: fixed.Int26_6(64 * t.y * scale)}}
		d.DrawString(t.text)
		if err := face.Close(); err != nil {
			return err
		}
	}
	return nil
}

// withSize inserts a pHYs chunk after a PNG's IHDR, which is always the first chunk
// (PNG, third edition, 11.3.4.3).
func withSize(data []byte, perMetre uint32) []byte {
	const head = 8 + 4 + 4 + 13 + 4 // signature, then length, type, data and sum of IHDR
	chunk := binary.BigEndian.AppendUint32(nil, 9)
	body := append([]byte("pHYs"), binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, perMetre), perMetre)...)
	body = append(body, 1) // metres
	chunk = append(chunk, body...)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(body))
	out := append([]byte{}, data[:head]...)
	out = append(out, chunk...)
	return append(out, data[head:]...)
}
