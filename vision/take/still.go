package take

import (
	"context"
	"image"
	"image/draw"
	"image/jpeg"
	"image/png"
	"io"
	"os"

	"github.com/gen2brain/heic"
	"golang.org/x/image/webp"

	"ecart/vision/internal/av"
)

// openStill checks and decodes a still, and reads its metadata.
func (t *Take) openStill(ctx context.Context, k kind) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	unreadable := func(err error) error {
		return newError("check the disk or card it is on", "%q cannot be read", t.path).withCause(err)
	}
	f, err := os.Open(t.path)
	if err != nil {
		return unreadable(err)
	}
	defer f.Close()
	data := io.NewSectionReader(f, 0, t.info.Size)
	p, h, err := decodeStill(t.info.Name, k, data)
	if err != nil {
		return err
	}
	tags, o := exif(k, io.NewSectionReader(f, 0, t.info.Size))
	info := &t.info
	info.Still, info.Frames, info.Codec, info.BitDepth = true, 1, k.String(), h.depth
	info.Captured, info.Make, info.Model, info.FocalLength35 = tags.captured, tags.maker, tags.model, tags.focal35
	switch {
	case h.heic != nil: // the file's own properties take precedence over EXIF
		info.Orientation = int(h.heic.orientation)
	case k != heicKind: // its decoder has put it upright
		info.Orientation = int(o)
	}
	info.Width, info.Height = p.Upright(av.Orientation(info.Orientation)).Dx(), p.Upright(av.Orientation(info.Orientation)).Dy()
	t.still = p
	return nil
}

func (t *Take) stillFrame() *Frame {
	return &Frame{picture: t.still, orientation: av.Orientation(t.info.Orientation)}
}

// decodeStill decodes a still in its stored orientation. Its size and the memory for decoding are checked
// before anything is allocated.
func decodeStill(name string, k kind, data *io.SectionReader) (p *av.Picture, h header, err error) {
	// The decoders' own messages about damaged files do not help the user and are left out.
	broken := newError("it is cut short or damaged: copy it from the camera again", "%q cannot be read as %s", name, k)
	defer func() { // a panic in a decoder means a damaged file
		if recover() != nil {
			p, err = nil, broken
		}
	}()
	from := func() io.Reader { return io.NewSectionReader(data, 0, data.Size()) }
	h, err = readHeader(k, data)
	if err != nil {
		return nil, h, broken
	}
	if err := checkSize(name, h.config.Width, h.config.Height); err != nil {
		return nil, h, err
	}
	if err := checkMemory(name, k, h.config, h.memory); err != nil {
		return nil, h, err
	}
	var img image.Image
	switch k {
	case jpegKind:
		img, err = jpeg.Decode(from())
	case pngKind:
		img, err = png.Decode(from())
	case webpKind:
		img, err = webp.Decode(from())
	case heicKind:
		if h.heic != nil {
			if p, err = h.heic.decode(data, data.Size()); err != nil {
				return nil, h, broken
			}
			p.Space, p.Full, p.Siting = h.form.Space, h.form.Full, h.form.Siting
			return p, h, nil
		}
		img, err = heic.Decode(from())
	}
	if err != nil {
		return nil, h, broken
	}
	if err := checkSize(name, img.Bounds().Dx(), img.Bounds().Dy()); err != nil {
		return nil, h, err
	}
	freeGarbage(h.memory)
	p = picture(img, h.form)
	if k == heicKind {
		p = p.Copy() // else the picture would keep all of the decoder's memory alive
		mendCorner(p)
	}
	img = nil
	freeGarbage(h.memory)
	return p, h, nil
}

// header is what is known of a still before decoding.
type header struct {
	config image.Config
	depth  int          // bits per sample
	form   av.Picture   // matrix, range and siting of luma and chroma
	memory int64        // estimated memory for decoding, bytes
	heic   *heicPicture // nil if another library decodes it
}

func readHeader(k kind, data *io.SectionReader) (h header, err error) {
	from := func() io.Reader { return io.NewSectionReader(data, 0, data.Size()) }
	// The defaults are those of JFIF. A HEIC file does not state its chroma siting, and rotation
	// changes it. If the siting is not the centre, all colours are shifted by the same amount, at
	// most half a pixel.
	h = header{depth: 8, form: av.Picture{Space: av.SpaceBT601, Full: true, Siting: av.Centre}}
	switch k {
	case jpegKind:
		if h.config, err = jpeg.DecodeConfig(from()); err == nil {
			h.memory, err = jpegMemory(data, h.config)
		}
	case pngKind:
		if h.config, err = png.DecodeConfig(from()); err == nil {
			h.memory = pngMemory(data, h.config)
		}
		if deepPNG(h.config.ColorModel) {
			h.depth = 16
		}
	case webpKind:
		h.config, h.memory, err = readWebP(data)
		h.form.Full = false // RFC 6386 9.2 and the WebP container: BT.601 over the narrow range
	case heicKind:
		var b []byte
		if b, err = heicHead(data); err != nil {
			return h, err
		}
		var f heif
		items := readHEICItems(b)
		f, err = readHEIF(items.properties)
		h.config, h.depth, h.form.Space, h.form.Full = f.config, f.depth, f.space, f.full
		h.memory = heicMemory(data.Size(), h.config)
		if p, err := readHEICPicture(items, data); err == nil {
			h.heic, h.memory = p, p.memory()
			h.config.Width, h.config.Height = p.width, p.height
		}
	}
	return h, err
}

// picture wraps a decoded image without copying if it has luma and chroma planes, whose matrix, range and
// siting are those of form. Any other image is converted to RGBA on white, in place where possible.
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
		return &p
	case *image.Gray:
		p.Layout = av.Grey
		p.Planes[0], p.Stride[0] = img.Pix, img.Stride
		return &p
	case *image.Gray16:
		p.Layout = av.Grey
		p.Planes[0], p.Stride[0] = highBytes(img.Pix), img.Stride/2
		return &p
	case *image.RGBA64:
		p.Planes[0], p.Stride[0] = highBytes(img.Pix), img.Stride/2
	case *image.NRGBA64:
		p.Planes[0], p.Stride[0] = whitened(highBytes(img.Pix)), img.Stride/2
	case *image.RGBA:
		p.Planes[0], p.Stride[0] = img.Pix, img.Stride
	case *image.NRGBA:
		p.Planes[0], p.Stride[0] = whitened(img.Pix), img.Stride
	case *image.NYCbCrA:
		flat := image.NewRGBA(image.Rect(0, 0, p.Width, p.Height))
		picture(&img.YCbCr, form).Convert(flat, 1)
		for y := range p.Height {
			for x := range p.Width {
				whiten(flat.Pix[flat.PixOffset(x, y):], int(img.A[y*img.AStride+x]))
			}
		}
		p.Planes[0], p.Stride[0] = flat.Pix, flat.Stride
	default: // a palette, CMYK
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

// highBytes keeps the upper byte of each 16-bit sample, in place.
func highBytes(pix []byte) []byte {
	n := len(pix) / 2
	for i := range n {
		pix[i] = pix[2*i]
	}
	return pix[:n]
}

// whitened composes RGBA pixels with non-premultiplied alpha onto white, in place.
func whitened(pix []byte) []byte {
	for i := 0; i+4 <= len(pix); i += 4 {
		if alpha := pix[i+3]; alpha != 255 {
			whiten(pix[i:], int(alpha))
		}
	}
	return pix
}

// whiten composes one pixel with the given alpha onto white.
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
