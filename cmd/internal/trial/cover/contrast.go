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
// its radius of its true middle, and that of a ring from 1.5 to 2.5 radii about it. Nothing of what follows stickers is used.
const (
	leastKept     = 0.5
	leastContrast = 10 // levels of 255
)

type colour [3]float64

func (a colour) dot(b colour) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// contrastAt is the mean colour of a disc less that of the ring about it, levels of 255.
func contrastAt(p interface {
	Bounds() image.Rectangle
	Fill(*image.RGBA)
}, m *scene.SketchMark) (d colour) {
	x, y, r := m.Pixel[0], m.Pixel[1], m.RadiusPx
	reach := int(math.Ceil(2.5*r)) + 1
	img := image.NewRGBA(image.Rect(int(x)-reach, int(y)-reach, int(x)+reach+1, int(y)+reach+1).Intersect(p.Bounds()))
	if img.Rect.Empty() {
		return d
	}
	p.Fill(img)
	var sum [2]colour
	var n [2]float64
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
				for i, w := range [3]uint8{c.R, c.G, c.B} {
					sum[of][i] += float64(w)
				}
				n[of]++
			}
		}
	}
	for i := range d {
		d[i] = sum[0][i]/max(n[0], 1) - sum[1][i]/max(n[1], 1)
	}
	return d
}

// contrasts lists those of every sticker in every frame of a clip.
func contrasts(ctx context.Context, path string, t *scene.SketchTruth) ([][]colour, error) {
	clip, err := recorded.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	defer clip.Close()
	out := make([][]colour, len(t.Frames))
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

// shows reports whether a sticker that had a contrast still has enough of it.
func shows(was, is colour) bool {
	size := was.dot(was)
	return size >= leastContrast*leastContrast && is.dot(was) >= leastKept*size
}
