package page

import (
	"bytes"
	"image"
	"image/jpeg"
	"image/png"
	"sync"

	"golang.org/x/image/draw"
)

// quality of the pictures shown, JPEG 1 to 100. The loupe's are lossless.
const quality = 88

// scaled is img, width pixels wide; never larger than it is. Where it becomes
// much smaller it is averaged in steps of two first, so that no pixel is lost.
func scaled(img *image.RGBA, width int) *image.RGBA {
	for img.Rect.Dx() >= 2*width && img.Rect.Dx() > 1 && img.Rect.Dy() > 1 {
		img = halved(img)
	}
	b := img.Bounds()
	if b.Dx() <= width {
		return img
	}
	height := max(1, (b.Dy()*width+b.Dx()/2)/b.Dx())
	out := image.NewRGBA(image.Rect(0, 0, width, height))
	half := height / 2
	var wg sync.WaitGroup
	for _, rows := range [][2]int{{0, half}, {half, height}} { // the two halves side by side
		wg.Go(func() {
			part := out.SubImage(image.Rect(0, rows[0], width, rows[1])).(*image.RGBA)
			draw.ApproxBiLinear.Scale(part, out.Rect, img, b, draw.Src, nil)
		})
	}
	wg.Wait()
	return out
}

// stripPixels is how many pixels of a frame are converted at once where it becomes smaller.
const stripPixels = 8 << 20

// shrunk is the part r of a frame, width pixels wide or less, as scaled makes it. A large
// picture is converted strip by strip: at once it would take 4 bytes for each of its
// pixels.
func shrunk(f Frame, r image.Rectangle, width, strip int) *image.RGBA {
	r = r.Intersect(f.Bounds())
	times := 0
	for w, h := r.Dx(), r.Dy(); w >= 2*width && w > 1 && h > 1; w, h = w/2, h/2 {
		times++
	}
	if times == 0 || r.Dx()*r.Dy() <= strip {
		return scaled(f.Region(r), width)
	}
	one := 1 << times // rows that become one
	rows := max(1, strip/r.Dx()/one) * one
	out := image.NewRGBA(image.Rect(0, 0, r.Dx()>>times, r.Dy()>>times))
	for y := 0; y+one <= r.Dy(); y += rows {
		part := f.Region(image.Rect(r.Min.X, r.Min.Y+y, r.Max.X, min(r.Min.Y+y+rows, r.Max.Y)))
		for range times {
			part = halved(part)
		}
		for i := range part.Rect.Dy() {
			copy(out.Pix[(y>>times+i)*out.Stride:][:out.Stride], part.Pix[i*part.Stride:])
		}
	}
	return scaled(out, width)
}

// halved averages two by two opaque pixels.
func halved(img *image.RGBA) *image.RGBA {
	w, h := img.Rect.Dx()/2, img.Rect.Dy()/2
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		a := img.Pix[2*y*img.Stride:][:8*w]
		b := img.Pix[(2*y+1)*img.Stride:][:8*w]
		to := out.Pix[y*out.Stride:][:4*w]
		for x := 0; x < len(to); x += 4 {
			for c := range 3 {
				to[x+c] = uint8((int(a[2*x+c]) + int(a[2*x+4+c]) + int(b[2*x+c]) + int(b[2*x+4+c]) + 2) / 4)
			}
			to[x+3] = 255
		}
	}
	return out
}

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
