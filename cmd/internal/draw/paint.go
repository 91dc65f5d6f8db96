package draw

import (
	"image"
	"image/draw"
	"math"

	"github.com/fogleman/gg"
)

// Picture paints the sheet on paper, with scale pixels for a unit of length.
func (s *Sheet) Picture(scale float64) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, int(math.Round(s.W*scale)), int(math.Round(s.H*scale))))
	draw.Draw(img, img.Rect, image.NewUniform(Paper), image.Point{}, draw.Src)
	s.Paint(img, scale)
	return img
}

// Paint paints the sheet on a picture whose bounds begin at (0, 0), with scale pixels for
// a unit of length.
func (s *Sheet) Paint(on *image.RGBA, scale float64) {
	dc := gg.NewContextForRGBA(on)
	dc.SetLineCapButt()
	dc.SetLineJoin(gg.LineJoinRound)
	for _, h := range s.Shapes {
		for _, l := range h.Lines {
			for i, p := range l {
				switch x, y := p.X*scale, p.Y*scale; {
				case h.Round > 0:
					dc.DrawCircle(x, y, h.Round*scale)
				case i == 0:
					dc.MoveTo(x, y)
				default:
					dc.LineTo(x, y)
				}
			}
			if h.Closed {
				dc.ClosePath()
			}
		}
		dc.SetColor(h.Colour)
		if h.Width == 0 {
			dc.Fill()
			continue
		}
		dash := make([]float64, len(h.Dash))
		for i, v := range h.Dash {
			dash[i] = v * scale
		}
		dc.SetDash(dash...)
		dc.SetLineWidth(h.Width * scale)
		dc.Stroke()
	}
	dc.SetDash()
	dc.SetLineCapRound()
	for _, g := range s.Texts {
		// drawn by outlines, since gg's own text has other widths
		trace := func() { s.L.Trace(dc, g.Face, g.Size*scale, g.Text, s.left(g.Label)*scale, g.Y*scale) }
		if g.Halo > 0 {
			trace()
			dc.SetColor(Thin(Paper, 0.92))
			dc.SetLineWidth(2 * g.Halo * scale)
			dc.Stroke()
		}
		trace()
		dc.SetColor(g.Colour)
		dc.Fill()
	}
}
