package figure

import (
	"image"
	"image/color"

	"ecart/cmd/internal/draw"
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
	l := draw.NewLetters()
	if r == nil {
		s := newSheet(size.X, size.Y, t, l)
		s.photo(img, image.Rectangle{Max: size}, covers)
		s.corner(why, draw.Faint)
		return s.image(), nil
	}
	if err := checkMarks(r, size.X, size.Y); err != nil {
		return nil, err
	}
	opt, err := Options{}.filled()
	if err != nil {
		return nil, err
	}
	s := pictureSheet(img, image.Rectangle{Max: size}, r, size.X, size.Y, t, l, Options{Covers: covers})
	v, u := opt.Format(r.AngleDeg, r.ExpandedUncertaintyDeg)
	s.corner(draw.Minus(v)+"° ± "+u, draw.Measured)
	return s.image(), nil
}

// corner writes words large in the picture's lower left corner.
func (s *sheet) corner(words string, colour color.NRGBA) {
	s.HaloText(label{words, s.T, s.H - s.T, 0, 2.2 * s.T, draw.Serif, colour}, 0.12*s.T)
}
