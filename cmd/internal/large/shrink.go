package large

import (
	"image"
	"sync"

	"golang.org/x/image/draw"
)

const (
	// Whole is the largest picture, in pixels, that is converted as a whole, 4 bytes each: a frame
	// of 4K is smaller.
	Whole = 8 << 20

	// Strip is how many pixels of a larger one are converted at once.
	Strip = 1 << 20
)

// Shrunk is the part r of a picture, width pixels wide; never larger than it is. Where it becomes much
// smaller it is averaged in steps of two first, so that no pixel is lost.
func Shrunk(s Source, r image.Rectangle, width int) *image.RGBA {
	r = r.Intersect(s.Bounds())
	return scaled(halvedTimes(s, r, halvings(r, width), Whole, Strip), width)
}

// Towards is the part r of a picture, halved as often as leaves it at least width pixels wide where it
// has more than Whole pixels. shown is the part of r that the result shows: up to one pixel of the
// result less, on the right and at the bottom.
func Towards(s Source, r image.Rectangle, width int) (out *image.RGBA, shown image.Rectangle) {
	r = r.Intersect(s.Bounds())
	if r.Dx()*r.Dy() <= Whole {
		return s.Region(r), r
	}
	times := halvings(r, width)
	out = halvedTimes(s, r, times, Whole, Strip)
	return out, image.Rectangle{r.Min, r.Min.Add(image.Pt(r.Dx()>>times<<times, r.Dy()>>times<<times))}
}

// halvings is how often r can be halved and stay at least width pixels wide.
func halvings(r image.Rectangle, width int) int {
	times := 0
	for w, h := r.Dx(), r.Dy(); w >= 2*width && w > 1 && h > 1; w, h = w/2, h/2 {
		times++
	}
	return times
}

// halvedTimes halves the part r of a picture so often, strip by strip where it has more pixels than
// whole.
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
	one := 1 << times // rows that become one
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

// scaled is img, less than twice as wide as width, made width pixels wide.
func scaled(img *image.RGBA, width int) *image.RGBA {
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
