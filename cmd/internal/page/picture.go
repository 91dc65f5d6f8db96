package page

import (
	"bytes"
	"image"
	"image/jpeg"
	"image/png"
)

// quality of the pictures shown, JPEG 1 to 100. The loupe's are lossless.
const quality = 88

func asJPEG(img image.Image, q int) ([]byte, error) {
	var b bytes.Buffer
	err := jpeg.Encode(&b, img, &jpeg.Options{Quality: q})
	return b.Bytes(), err
}

func asPNG(img image.Image) ([]byte, error) {
	var b bytes.Buffer
	err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, img)
	return b.Bytes(), err
}
