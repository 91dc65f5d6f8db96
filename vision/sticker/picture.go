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

// box returns the box of the marked pixels, in the picture.
func (w *window) box(marked []bool) (r image.Rectangle) {
	for y := range w.Dy() {
		row := marked[y*w.Dx() : (y+1)*w.Dx()]
		if from := slices.Index(row, true); from >= 0 {
			to := len(row)
			for !row[to-1] {
				to--
			}
			r = r.Union(image.Rect(from, y, to, y+1))
		}
	}
	return r.Add(w.Min)
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

// dilated marks all pixels up to by columns and rows from a marked one (dilation by a square), in rows of w.
func dilated(out, in []bool, w, by int) []bool {
	out = resized(out, len(in))
	clear(out)
	for row := 0; row < len(in); row += w {
		end := row
		for i := row; i < row+w; i++ {
			if in[i] {
				for end = max(end, i-by); end < min(i+by+1, row+w); end++ {
					out[end] = true
				}
			}
		}
	}
	last := slices.Repeat([]int{-len(in) - by*w}, w) // of each column, the last marked pixel at or before by rows further down
	for row := -by * w; row < len(in); row += w {
		for x := range w {
			if down := row + x + by*w; down < len(in) && out[down] {
				last[x] = down
			}
			if row >= 0 {
				out[row+x] = last[x] >= row+x-by*w
			}
		}
	}
	return out
}

// flood takes the connected region of a pixel out of a mask in rows of w, and returns its pixels in the memory of out.
func flood(mask []bool, w, from int, out []int) []int {
	out, mask[from] = append(out[:0], from), false
	for n := 0; n < len(out); n++ {
		i := out[n]
		x := i % w
		for side, inside := range [4]bool{x > 0, x+1 < w, i >= w, i+w < len(mask)} {
			if j := i + [4]int{-1, 1, -w, w}[side]; inside && mask[j] {
				mask[j] = false
				out = append(out, j)
			}
		}
	}
	return out
}
