package main

import (
	"context"
	"image"
	"math"

	"ecart/cmd/internal/trial/scene"
	recorded "ecart/vision/take"
)

// An encoder may remove a small sticker, or leave it at its place in an earlier frame. The contrast of a sticker is the
// difference between the mean colour within half its radius of its true centre and that of a ring from 1.5 to 2.5 radii
// around it. A sticker counts as half hidden, so that it is not plain, in three cases: the coded clip has less than
// minKept of the contrast in the clip as drawn; that contrast is less than minContrast, so that nobody could point at the
// sticker; or the background has its colour, with more than maxAlike of the ring within twice minContrast of the
// sticker's mean colour. None of the code that follows stickers is used.
const (
	minKept     = 0.5
	minContrast = 10 // levels of 255
	maxAlike    = 0.25
)

type colour [3]float64

func (a colour) dot(b colour) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// contrast compares a sticker with the ring around it.
type contrast struct {
	colour         // mean of the sticker's middle less that of the ring, levels of 255
	alike  float64 // part of the ring that has its colour
}

func contrastAt(p interface {
	Bounds() image.Rectangle
	Fill(*image.RGBA)
}, m *scene.SketchMark) (d contrast) {
	x, y, r := m.Pixel[0], m.Pixel[1], m.RadiusPx
	reach := int(math.Ceil(2.5*r)) + 1
	img := image.NewRGBA(image.Rect(int(x)-reach, int(y)-reach, int(x)+reach+1, int(y)+reach+1).Intersect(p.Bounds()))
	if img.Rect.Empty() {
		return d
	}
	p.Fill(img)
	var sum [2]colour
	var n [2]float64
	var ring []colour
	for v := img.Rect.Min.Y; v < img.Rect.Max.Y; v++ {
		for u := img.Rect.Min.X; u < img.Rect.Max.X; u++ {
			q, part := math.Hypot(float64(u)-x, float64(v)-y), -1
			switch {
			case q <= max(0.5*r, 0.8):
				part = 0
			case q >= 1.5*r && q <= 2.5*r:
				part = 1
			}
			if part >= 0 {
				c := img.RGBAAt(u, v)
				at := colour{float64(c.R), float64(c.G), float64(c.B)}
				for i, w := range at {
					sum[part][i] += w
				}
				n[part]++
				if part == 1 {
					ring = append(ring, at)
				}
			}
		}
	}
	for i := range d.colour {
		sum[0][i] /= max(n[0], 1)
		d.colour[i] = sum[0][i] - sum[1][i]/max(n[1], 1)
	}
	for _, c := range ring {
		for i := range c {
			c[i] -= sum[0][i]
		}
		if c.dot(c) < 4*minContrast*minContrast {
			d.alike += 1 / n[1]
		}
	}
	return d
}

// contrasts returns the contrast of every sticker in every frame of a clip.
func contrasts(ctx context.Context, path string, t *scene.SketchTruth) ([][]contrast, error) {
	clip, err := recorded.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	defer clip.Close()
	out := make([][]contrast, len(t.Frames))
	err = clip.Span(ctx, 0, min(len(t.Frames), clip.Info().Frames)-1, func(f *recorded.Frame) error {
		for k := range t.Frames[f.Index].Stickers {
			out[f.Index] = append(out[f.Index], contrastAt(f, &t.Frames[f.Index].Stickers[k]))
		}
		return nil
	})
	return out, err
}

// markHidden marks stickers that a coded clip does not show as half hidden; one of every frames of the sketch was kept.
func markHidden(ctx context.Context, drawn string, whole *scene.SketchTruth, coded string, t *scene.SketchTruth, every int) error {
	was, err := contrasts(ctx, drawn, whole)
	if err != nil {
		return err
	}
	is := was
	if coded != drawn {
		if is, err = contrasts(ctx, coded, t); err != nil {
			return err
		}
	}
	for i := range t.Frames {
		for k := range is[i] {
			if m := &t.Frames[i].Stickers[k]; i*every < len(was) && k < len(was[i*every]) && !shows(was[i*every][k], is[i][k]) {
				m.Visible = min(m.Visible, 0.5)
			}
		}
	}
	return nil
}

// shows reports whether a sticker still has enough of its contrast, and a background of another colour.
func shows(was, is contrast) bool {
	size := was.dot(was.colour)
	return size >= minContrast*minContrast && is.dot(was.colour) >= minKept*size && is.alike <= maxAlike
}
