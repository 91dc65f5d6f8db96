package main

import (
	"context"
	"image"
	"math"

	"ecart/cmd/internal/trial/scene"
	recorded "ecart/vision/take"
)

// An encoder may leave nothing of a small sticker, or leave it where it was. A sticker counts as half hidden, so that it
// is not plain, where its clip shows it at its place with less than leastKept of the contrast that the clip as drawn has there,
// or where that is less than leastContrast: nobody could point at it. The contrast is that between the mean colour within half
// its radius of its true middle, and that of a ring from 1.5 to 2.5 radii about it. So does one whose ground has its own colour:
// where more than mostAlike of the ring is within twice leastContrast of its mean colour. Nothing of what follows stickers is used.
const (
	leastKept     = 0.5
	leastContrast = 10 // levels of 255
	mostAlike     = 0.25
)

type colour [3]float64

func (a colour) dot(b colour) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// contrast is what a sticker is against the ring about it.
type contrast struct {
	colour         // mean of its middle less that of the ring, levels of 255
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
			q, of := math.Hypot(float64(u)-x, float64(v)-y), -1
			switch {
			case q <= max(0.5*r, 0.8):
				of = 0
			case q >= 1.5*r && q <= 2.5*r:
				of = 1
			}
			if of >= 0 {
				c := img.RGBAAt(u, v)
				at := colour{float64(c.R), float64(c.G), float64(c.B)}
				for i, w := range at {
					sum[of][i] += w
				}
				n[of]++
				if of == 1 {
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
		if c.dot(c) < 4*leastContrast*leastContrast {
			d.alike += 1 / n[1]
		}
	}
	return d
}

// contrasts lists those of every sticker in every frame of a clip.
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

// fade marks what a coded clip does not show of a sketch as half hidden; every is of how many frames one was kept.
func fade(ctx context.Context, drawn string, whole *scene.SketchTruth, coded string, t *scene.SketchTruth, every int) error {
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

// shows reports whether a sticker that had a contrast still has enough of it, and its ground is not of its colour.
func shows(was, is contrast) bool {
	size := was.dot(was.colour)
	return size >= leastContrast*leastContrast && is.dot(was.colour) >= leastKept*size && is.alike <= mostAlike
}
