package sticker

import (
	"image"

	"ecart/geometry"
)

// thinned is a part of a picture at a lower resolution, coded as it is, and its colours not put right:
// enough to see where something is.
type thinned struct {
	image.Rectangle // from (0, 0)
	pix             [][4]byte
	line            image.RGBA
}

// load reads every n-th pixel of every n-th row of the picture within r.
func (t *thinned) load(p Picture, r image.Rectangle, n int) {
	r = r.Intersect(p.Bounds())
	w, h := r.Dx()/n, r.Dy()/n
	t.Rectangle = image.Rect(0, 0, w, h)
	t.pix = fit(t.pix, w*h)
	t.line = image.RGBA{Pix: fit(t.line.Pix, 4*r.Dx()), Stride: 4 * r.Dx()}
	for y := range h {
		at := r.Min.Y + y*n + n/2
		t.line.Rect = image.Rect(r.Min.X, at, r.Max.X, at+1)
		p.Fill(&t.line)
		row := t.pix[y*w : (y+1)*w]
		for x, i := 0, 4*(n/2); x < len(row); x, i = x+1, i+4*n {
			row[x] = [4]byte(t.line.Pix[i : i+4])
		}
	}
}

// thinning is how many pixels go to one where a sticker is looked for.
func thinning(radius float64) int { return max(1, int(radius/4)) }

// thinnedAt is a place of the picture in a window thinned from a box, and inFull the other way.
func thinnedAt(at geometry.Point, box image.Rectangle, n int) geometry.Point {
	return geometry.Point{X: (at.X-float64(box.Min.X)+0.5)/float64(n) - 0.5, Y: (at.Y-float64(box.Min.Y)+0.5)/float64(n) - 0.5}
}

func inFull(at geometry.Point, box image.Rectangle, n int) geometry.Point {
	return geometry.Point{X: float64(box.Min.X) + (at.X+0.5)*float64(n) - 0.5, Y: float64(box.Min.Y) + (at.Y+0.5)*float64(n) - 0.5}
}
