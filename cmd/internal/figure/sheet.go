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
	ground *image.RGBA // the picture drawn on; nil is paper
}

// newSheet opens a sheet with text of size t.
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

// paper gives the sheet a ground of paper, to lay a picture on.
func (s *sheet) paper() *image.RGBA {
	s.ground = image.NewRGBA(image.Rect(0, 0, int(s.W), int(s.H)))
	xdraw.Draw(s.ground, s.ground.Rect, image.NewUniform(draw.Paper), image.Point{}, xdraw.Src)
	return s.ground
}

// photo lays the part cut of a picture over the whole of the sheet, with the covers on
// it. It returns where the take's pixels are then.
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
		// The scaler averages what falls on one pixel, so that a large picture does
		// not shimmer.
		xdraw.CatmullRom.Scale(ground, ground.Rect, img, from, xdraw.Over, nil)
	}
	v.Scale = float64(w) / float64(cut.Dx())
	s.covers(covers, v)
	return v
}

// over is how a picture is laid on paper: as it is where nothing shines through it, which is
// ten times faster.
func over(img image.Image) xdraw.Op {
	if o, ok := img.(interface{ Opaque() bool }); ok && o.Opaque() {
		return xdraw.Src
	}
	return xdraw.Over
}

// lay puts the part from of a picture on ground as it is, a large one strip by strip.
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
