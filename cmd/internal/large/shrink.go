package large

import (
	"encoding/binary"
	"image"
	"sync"

	"golang.org/x/image/draw"
)

const (
	// Whole is the largest picture that is converted at once, in pixels of 4 bytes. A frame of 4K is
	// smaller.
	Whole = 8 << 20

	// Strip is the number of pixels of a larger picture that are converted at once.
	Strip = 1 << 20
)

// Halver is a Source with a faster way to halve its width and height. Halved returns the whole picture, halved
// the given number of times, or nil if it cannot.
type Halver interface {
	Halved(times int) *image.RGBA
}

// Shrunk returns the part r of a picture, scaled down to a width of width pixels; it is never enlarged. It is
// first halved by averaging as often as possible, so that every pixel counts.
func Shrunk(s Source, r image.Rectangle, width int) *image.RGBA {
	r = r.Intersect(s.Bounds())
	if h, ok := s.(Halver); ok && r == s.Bounds() && r.Dx() >= 2*width {
		if small := h.Halved(halvings(r, width)); small != nil {
			return scaled(small, width)
		}
	}
	return scaled(halvedTimes(s, r, halvings(r, width), Whole, Strip), width)
}

// Towards returns the part r of a picture. If r has more than Whole pixels, it is halved as often as possible
// while it stays at least width pixels wide. shown is the part of r that the result covers: on the right and
// at the bottom up to one pixel of the result is lost.
func Towards(s Source, r image.Rectangle, width int) (out *image.RGBA, shown image.Rectangle) {
	r = r.Intersect(s.Bounds())
	if r.Dx()*r.Dy() <= Whole {
		return s.Region(r), r
	}
	times := halvings(r, width)
	out = halvedTimes(s, r, times, Whole, Strip)
	return out, image.Rectangle{r.Min, r.Min.Add(image.Pt(r.Dx()>>times<<times, r.Dy()>>times<<times))}
}

// halvings returns how often r can be halved while it stays at least width pixels wide.
func halvings(r image.Rectangle, width int) int {
	times := 0
	for w, h := r.Dx(), r.Dy(); w >= 2*width && w > 1 && h > 1; w, h = w/2, h/2 {
		times++
	}
	return times
}

// halvedTimes halves the part r of a picture the given number of times, strip by strip if it has more than
// whole pixels.
func halvedTimes(s Source, r image.Rectangle, times, whole, strip int) *image.RGBA {
	halve := func(r image.Rectangle) *image.RGBA {
		part := s.Region(r)
		for range times {
			part = halved(part)
		}
		return part
	}
	if times == 0 || r.Dx()*r.Dy() <= whole {
		return halve(r)
	}
	one := 1 << times // number of rows averaged into one
	rows := max(1, strip/r.Dx()/one) * one
	out := image.NewRGBA(image.Rect(0, 0, r.Dx()>>times, r.Dy()>>times))
	for y := 0; y+one <= r.Dy(); y += rows {
		part := halve(image.Rect(r.Min.X, r.Min.Y+y, r.Max.X, min(r.Min.Y+y+rows, r.Max.Y)))
		for i := range part.Rect.Dy() {
			copy(out.Pix[(y>>times+i)*out.Stride:][:out.Stride], part.Pix[i*part.Stride:])
		}
	}
	return out
}

// scaled returns img scaled down to a width of width pixels. img is less than twice as wide.
func scaled(img *image.RGBA, width int) *image.RGBA {
	b := img.Bounds()
	if b.Dx() <= width {
		return img
	}
	height := max(1, (b.Dy()*width+b.Dx()/2)/b.Dx())
	out := image.NewRGBA(image.Rect(0, 0, width, height))
	half := height / 2
	var wg sync.WaitGroup
	for _, rows := range [][2]int{{0, half}, {half, height}} { // the two halves in parallel
		wg.Go(func() {
			part := out.SubImage(image.Rect(0, rows[0], width, rows[1])).(*image.RGBA)
			draw.ApproxBiLinear.Scale(part, out.Rect, img, b, draw.Src, nil)
		})
	}
	wg.Wait()
	return out
}

// halved averages blocks of two by two opaque pixels. A 64-bit word holds two pixels. Its even and odd bytes
// are summed separately, in lanes of 16 bits, which hold the sum of four bytes.
func halved(img *image.RGBA) *image.RGBA {
	const lanes, round, opaque = 0x00ff00ff00ff00ff, 0x00020002, 0xff000000
	w, h := img.Rect.Dx()/2, img.Rect.Dy()/2
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		a := img.Pix[2*y*img.Stride:][:8*w]
		b := img.Pix[(2*y+1)*img.Stride:][:8*w]
		to := out.Pix[y*out.Stride:][:4*w]
		for len(to) >= 4 && len(a) >= 8 && len(b) >= 8 {
			p, q := binary.LittleEndian.Uint64(a), binary.LittleEndian.Uint64(b)
			even := p&lanes + q&lanes
			odd := p>>8&lanes + q>>8&lanes
			even = (even + even>>32 + round) >> 2 & lanes
			odd = (odd + odd>>32 + round) >> 2 & lanes
			binary.LittleEndian.PutUint32(to, uint32(even|odd<<8)|opaque)
			to, a, b = to[4:], a[8:], b[8:]
		}
	}
	return out
}
