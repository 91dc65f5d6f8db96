package figure

import (
	"image"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/large"

	xdraw "golang.org/x/image/draw"
)

type (
	point = draw.Point
	box   = draw.Box
	label = draw.Label
)

// sheet is a drawing in pixels, on paper or on a picture.
type sheet struct {
	*draw.Sheet
	ground *image.RGBA // the picture under the drawing; nil for paper
}

// newSheet returns an empty sheet with text of size t.
func newSheet(w, h int, t float64, l *draw.Letters) *sheet {
	return &sheet{Sheet: &draw.Sheet{W: float64(w), H: float64(h), T: t, L: l}}
}

// image paints the drawing.
func (s *sheet) image() *image.RGBA {
	if s.ground == nil {
		return s.Picture(1)
	}
	s.Paint(s.ground, 1)
	return s.ground
}

// paper fills the ground with paper colour and returns it.
func (s *sheet) paper() *image.RGBA {
	s.ground = image.NewRGBA(image.Rect(0, 0, int(s.W), int(s.H)))
	xdraw.Draw(s.ground, s.ground.Rect, image.NewUniform(draw.Paper), image.Point{}, xdraw.Src)
	return s.ground
}

// photo draws the part cut of a picture over the whole sheet, with the covers. It returns
// the map from the take's pixels to the sheet.
func (s *sheet) photo(img image.Image, cut image.Rectangle, covers []Cover) view {
	ground := s.paper()
	w, h := ground.Rect.Dx(), ground.Rect.Dy()
	from := cut
	if _, ok := img.(papered); !ok {
		from = cut.Add(img.Bounds().Min)
	}
	v := view{Origin: point{float64(cut.Min.X), float64(cut.Min.Y)}}
	if cut.Dx() == w && cut.Dy() == h {
		lay(ground, img, from)
	} else {
		if src, ok := img.(large.Source); ok {
			part, shown := large.Towards(src, from, w)
			if shown != from {
				cut.Max = cut.Min.Add(shown.Size())
			}
			if part.Rect.Dx() < shown.Dx() {
				v.Blur = halvedBlur
			}
			img, from = part, part.Rect
		}
		// the scaler averages all pixels that fall on one, which avoids aliasing
		xdraw.CatmullRom.Scale(ground, ground.Rect, img, from, xdraw.Over, nil)
	}
	v.Scale = float64(w) / float64(cut.Dx())
	s.covers(covers, v)
	return v
}

// over returns the operator to draw a picture on paper: Src for an opaque picture, which is
// ten times faster.
func over(img image.Image) xdraw.Op {
	if o, ok := img.(interface{ Opaque() bool }); ok && o.Opaque() {
		return xdraw.Src
	}
	return xdraw.Over
}

// lay copies the part from of a picture to ground, a large one strip by strip.
func lay(ground *image.RGBA, img image.Image, from image.Rectangle) {
	src, ok := img.(large.Source)
	if !ok {
		xdraw.Draw(ground, ground.Rect, img, from.Min, over(img))
		return
	}
	large.Strips(from, func(r image.Rectangle) {
		part := src.Region(r)
		xdraw.Draw(ground, r.Sub(from.Min), part, part.Rect.Min, xdraw.Src)
	})
}
