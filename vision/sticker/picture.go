package sticker

import (
	"context"
	"image"
	"image/draw"
	"math"
	"slices"
	"time"

	"ecart/vision/take"
)

// Picture is one upright picture of a clip. Pixel (0, 0) is at the top left.
type Picture interface {
	// Bounds returns the rectangle of the picture, from (0, 0).
	Bounds() image.Rectangle

	// Fill writes the picture's pixels into dst, whose bounds are in coordinates of the picture,
	// opaque. Pixels of dst outside the picture stay as they are.
	Fill(dst *image.RGBA)

	// Find divides the picture into cells of step by step pixels, from the top left corner on, and appends those cells to out whose middle
	// pixel, the one to the right and below where there are two, has a colour in the set, row by row.
	Find(step int, set *take.ColourSet, out []take.Sample) []take.Sample
}

// Still returns an image as a Picture.
func Still(m image.Image) Picture {
	b := m.Bounds()
	p, ok := m.(*image.RGBA)
	if !ok || b.Min != (image.Point{}) {
		p = image.NewRGBA(image.Rectangle{Max: b.Size()})
		draw.Draw(p, p.Rect, m, b.Min, draw.Src)
	}
	return still{p}
}

type still struct{ *image.RGBA }

func (s still) Fill(dst *image.RGBA) {
	draw.Draw(dst, dst.Rect.Intersect(s.Rect), s, dst.Rect.Intersect(s.Rect).Min, draw.Src)
}

func (s still) Find(step int, set *take.ColourSet, out []take.Sample) []take.Sample {
	for y := range s.Rect.Dy() / step {
		for x := range s.Rect.Dx() / step {
			c := s.Pix[s.PixOffset(x*step+step/2, y*step+step/2):]
			if n := take.ColourNumber(c[0], c[1], c[2]); set.Has(n) {
				out = append(out, take.Sample{X: int32(x), Y: int32(y), Colour: n})
			}
		}
	}
	return out
}

// window holds a rectangle of a picture at full resolution.
type window struct {
	image.Rectangle
	rgba image.RGBA
}

// load reads the part of the picture within r.
func (w *window) load(p Picture, r image.Rectangle) {
	w.Rectangle = r.Intersect(p.Bounds())
	n := w.Dx() * w.Dy()
	w.rgba = image.RGBA{Pix: resized(w.rgba.Pix, 4*n), Stride: 4 * w.Dx(), Rect: w.Rectangle}
	if n > 0 {
		p.Fill(&w.rgba)
	}
}

// code returns the coded colour of pixel i, 0 to 255.
func (w *window) code(i int) vec {
	p := w.rgba.Pix[4*i : 4*i+3 : 4*i+3]
	return vec{float64(p[0]), float64(p[1]), float64(p[2])}
}

// light returns the linear light of pixel i, where 1 is white.
func (w *window) light(i int) vec {
	p := w.rgba.Pix[4*i : 4*i+3 : 4*i+3]
	return vec{linear[p[0]], linear[p[1]], linear[p[2]]}
}

// decode returns the linear light, 0 to 1, of an sRGB value from 0 to 255 (IEC 61966-2-1).
func decode(v float64) float64 {
	if v /= 255; v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// linear holds decode of every value.
var linear = func() (t [256]float64) {
	for i := range t {
		t[i] = decode(float64(i))
	}
	return t
}()

// resized returns a slice of n elements, in the memory of s where that is large enough. The elements
// are not cleared.
func resized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}

// Clip is a source of frames for Follow. Of returns one for a take.
type Clip interface {
	// Frames is the number of frames, 1 for a still.
	Frames() int

	// Time is the time stamp of frame i as stored, TrueTime the same with slow motion undone.
	Time(i int) time.Duration
	TrueTime(i int) time.Duration

	// CleanStart is the frame at or before frame i from which Stream decodes what leads up to it.
	CleanStart(i int) int

	// Stream calls fn with each of the frames from..to, in order. damaged reports that the decoder may have
	// made up parts of the picture. A picture is valid until fn returns. Frames that
	// cannot be decoded are left out. It returns the error of fn or of ctx.
	Stream(ctx context.Context, from, to int, fn func(i int, p Picture, damaged bool) error) error
}

// Of returns a take as a Clip.
func Of(t *take.Take) Clip { return takeClip{t} }

type takeClip struct{ *take.Take }

func (c takeClip) Frames() int { return c.Info().Frames }

func (c takeClip) Stream(ctx context.Context, from, to int, fn func(i int, p Picture, damaged bool) error) error {
	return c.Span(ctx, from, to, func(f *take.Frame) error { return fn(f.Index, f, f.Damaged) })
}

var _ Picture = (*take.Frame)(nil)

// dilated marks all pixels up to by columns and rows from a marked one (dilation by a square): along the rows, then down the columns.
func dilated(out, in []bool, w, h, by int) []bool {
	out = resized(out, len(in))
	clear(out)
	some := make([]bool, h) // rows with a marked one: most have none
	left, right := w, 0     // columns with marked ones
	for y := range h {
		row, to := in[y*w:y*w+w], out[y*w:y*w+w]
		first := slices.Index(row, true)
		if first < 0 {
			continue
		}
		end := max(first-by, 0)
		left = min(left, end)
		for x := first; x < w; x++ {
			if row[x] {
				for end = max(end, x-by); end < min(x+by+1, w); end++ {
					to[end] = true
				}
			}
		}
		some[y], right = true, max(right, end)
	}
	last := make([]int, w) // the last marked row at or before y+by
	for x := range last {
		last[x] = -by - 1
	}
	nearest := -by - 1 // the last of these at or before y+by
	for y := -by; y < h; y++ {
		if y+by < h && some[y+by] {
			nearest = y + by
			for x := left; x < right; x++ {
				if out[(y+by)*w+x] {
					last[x] = y + by
				}
			}
		}
		if y >= 0 && nearest >= y-by {
			for x := left; x < right; x++ {
				out[y*w+x] = last[x] >= y-by
			}
		}
	}
	return out
}
