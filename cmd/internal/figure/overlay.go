package figure

import (
	"image"

	"ecart/cmd/internal/reading"
)

// Overlay draws the fan of r on the whole of img, at its own size, with the angle
// and its interval in a corner: one picture of a clip. A reading by first order
// (reading.Sketch) will do. r may be nil: then the picture says that the angle is
// not known, and why. The covers lie under the fan, and are drawn also where r is
// nil.
func Overlay(img image.Image, r *reading.Reading, why string, covers ...Cover) (image.Image, error) {
	if err := checkPicture(img); err != nil {
		return nil, err
	}
	size := img.Bounds().Size()
	t := max(13, 0.5*textSize(float64(size.X)))
	l, err := newLetters()
	if err != nil {
		return nil, err
	}
	var out image.Image
	words, colour := why, faint
	if r != nil {
		if err := checkMarks(r, size.X, size.Y); err != nil {
			return nil, err
		}
		out = drawPicture(img, image.Rect(0, 0, size.X, size.Y), r, size.X, size.Y, t, l, Options{Covers: covers})
		opt, err := Options{}.filled()
		if err != nil {
			return nil, err
		}
		v, u := opt.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
		words, colour = minus(v)+"° ± "+u, measured
	} else {
		out = img
	}
	s := newSheet(size.X, size.Y, paper, l)
	s.dc.DrawImage(out, -out.Bounds().Min.X, -out.Bounds().Min.Y)
	if r == nil {
		s.covers(covers, view{Scale: 1}, t)
	}
	s.text(label{words, t, float64(size.Y) - t, 0, 2.2 * t, serif, colour}, 0.12*t)
	return s.image(), nil
}
