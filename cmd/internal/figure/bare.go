package figure

import (
	"image"
	"math"

	"ecart/cmd/internal/draw"
)

// Bare draws the part of img that opt names, or the whole, with the covers on it and
// nothing of a reading: what a person looks at who is to judge for themselves.
// opt.Width is how wide it comes out; its height follows from the part.
func Bare(img image.Image, opt Options) (image.Image, error) {
	opt, err := opt.filled()
	if err != nil {
		return nil, err
	}
	if err := checkPicture(img); err != nil {
		return nil, err
	}
	l := draw.NewLetters()
	whole := image.Rectangle{Max: img.Bounds().Size()}
	part := opt.Part
	if part.Empty() {
		part = whole
	}
	if !part.In(whole) {
		return nil, draw.Problem("show a part of the frame", "a part from %v to %v of a picture of %d by %d is none", part.Min, part.Max, whole.Dx(), whole.Dy())
	}
	t := opt.Text
	if t == 0 {
		t = textSize(float64(opt.Width))
	}
	h := max(1, int(math.Round(float64(opt.Width)*float64(part.Dy())/float64(part.Dx()))))
	s := newSheet(opt.Width, h, t, l)
	s.photo(img, part, opt.Covers)
	return s.image(), nil
}
