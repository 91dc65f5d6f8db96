package take

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"io"
	"os"

	"github.com/gen2brain/heic"
	"golang.org/x/image/webp"

	"ecart/vision/internal/av"
)

// openStill reads, checks and decodes a still.
func (t *Take) openStill(ctx context.Context, k kind) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	data, err := os.ReadFile(t.path)
	if err != nil {
		return wrong("check the disk or card it is on", "%q cannot be read", t.path).because(err)
	}
	p, depth, err := decodeStill(t.info.Name, k, data)
	if err != nil {
		return err
	}
	tags, o := exif(k, data)
	info := &t.info
	info.Still, info.Frames, info.Codec, info.BitDepth = true, 1, k.String(), depth
	info.Captured, info.Make, info.Model, info.FocalLength35 = tags.captured, tags.maker, tags.model, tags.focal35
	if k != heicKind { // its decoder has put it upright by the file's own properties
		info.Orientation = int(o)
	}
	info.Width, info.Height = p.Upright(av.Orientation(info.Orientation)).Dx(), p.Upright(av.Orientation(info.Orientation)).Dy()
	t.still = p
	return nil
}

func (t *Take) stillFrame() *Frame {
	return &Frame{picture: t.still, orientation: av.Orientation(t.info.Orientation)}
}

// decodeStill decodes a still, not yet turned by EXIF. Its size is checked before anything is
// allocated for it. depth is the number of bits per sample in the file.
func decodeStill(name string, k kind, data []byte) (p *av.Picture, depth int, err error) {
	broken := func(err error) error {
		if errors.Is(err, io.EOF) {
			err = io.ErrUnexpectedEOF
		}
		return wrong("it is cut short or damaged: copy it from the camera again", "%q cannot be read as %s", name, k).because(err)
	}
	defer func() { // a decoder that trips over a damaged file is an error of the file
		if r := recover(); r != nil {
			p, err = nil, broken(fmt.Errorf("%v", r))
		}
	}()
	var img image.Image
	var cfg image.Config
	from := func() io.Reader { return bytes.NewReader(data) }
	// JFIF. A HEIC file does not say where its chroma lies, and turning moves it: if it is not in
	// the centre, all colours are off by the same half pixel at most.
	form := av.Picture{Space: av.SpaceBT601, Full: true, Siting: av.Centre}
	depth = 8
	switch k {
	case jpegKind:
		cfg, err = jpeg.DecodeConfig(from())
	case pngKind:
		cfg, err = png.DecodeConfig(from())
		switch cfg.ColorModel {
		case color.RGBA64Model, color.NRGBA64Model, color.Gray16Model:
			depth = 16
		}
	case webpKind:
		cfg, err = webpConfig(data)
		form.Full = false // RFC 6386 9.2 and the WebP container: BT.601 over the narrow range
	case heicKind:
		var h heif
		h, err = readHEIF(data)
		cfg, depth = h.config, h.depth
		form.Space, form.Full = h.space, h.full
	}
	if err != nil {
		return nil, 0, broken(err)
	}
	if err := checkSize(name, cfg.Width, cfg.Height); err != nil {
		return nil, 0, err
	}
	switch k {
	case jpegKind:
		img, err = jpeg.Decode(from())
	case pngKind:
		img, err = png.Decode(from())
	case webpKind:
		img, err = webp.Decode(from())
	case heicKind:
		img, err = heic.Decode(from())
	}
	if err != nil {
		return nil, 0, broken(err)
	}
	if err := checkSize(name, img.Bounds().Dx(), img.Bounds().Dy()); err != nil {
		return nil, 0, err
	}
	p = picture(img, form)
	if k == heicKind {
		mendCorner(p)
	}
	return p, depth, nil
}

// picture keeps luma and chroma as they are, with the colours that form describes, and turns
// everything else to RGBA on white.
func picture(img image.Image, form av.Picture) *av.Picture {
	p := form
	p.Width, p.Height = img.Bounds().Dx(), img.Bounds().Dy()
	p.StoredWidth, p.StoredHeight, p.Depth = p.Width, p.Height, 8
	switch img := img.(type) {
	case *image.YCbCr:
		p.Layout = av.YUV
		p.ShiftX, p.ShiftY = shifts(img.SubsampleRatio)
		p.Planes = [3][]byte{img.Y, img.Cb, img.Cr}
		p.Stride = [3]int{img.YStride, img.CStride, img.CStride}
		return p.Copy() // its own memory, with nothing around it
	case *image.Gray:
		p.Layout = av.Grey
		p.Planes[0], p.Stride[0] = img.Pix, img.Stride
		return p.Copy()
	case *image.NYCbCrA:
		flat := image.NewRGBA(image.Rect(0, 0, p.Width, p.Height))
		picture(&img.YCbCr, form).Convert(flat, 1)
		for y := range p.Height {
			for x := range p.Width {
				whiten(flat.Pix[flat.PixOffset(x, y):], int(img.A[y*img.AStride+x]))
			}
		}
		p.Planes[0], p.Stride[0] = flat.Pix, flat.Stride
	default:
		flat := image.NewRGBA(image.Rect(0, 0, p.Width, p.Height))
		op := draw.Src
		if o, ok := img.(interface{ Opaque() bool }); !ok || !o.Opaque() {
			draw.Draw(flat, flat.Rect, image.White, image.Point{}, draw.Src)
			op = draw.Over
		}
		draw.Draw(flat, flat.Rect, img, img.Bounds().Min, op)
		p.Planes[0], p.Stride[0] = flat.Pix, flat.Stride
	}
	p.Layout, p.ShiftX, p.ShiftY = av.RGBA, 0, 0
	return &p
}

// whiten lays one pixel with the given alpha on white.
func whiten(pix []byte, alpha int) {
	for i := range 3 {
		pix[i] = byte((int(pix[i])*alpha + 255*(255-alpha) + 127) / 255)
	}
}

func shifts(r image.YCbCrSubsampleRatio) (x, y int) {
	switch r {
	case image.YCbCrSubsampleRatio422:
		return 1, 0
	case image.YCbCrSubsampleRatio420:
		return 1, 1
	case image.YCbCrSubsampleRatio440:
		return 0, 1
	case image.YCbCrSubsampleRatio411:
		return 2, 0
	case image.YCbCrSubsampleRatio410:
		return 2, 1
	}
	return 0, 0
}
