package figure

import (
	"image"
	"math"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

const (
	// around is the room left about the marks and the fan on every side, in lengths
	// of their longer extent: heads, hands and feet carry no mark and belong in.
	around = 0.45

	// worthCutting is the part of the frame's width below which it is cut: an
	// athlete who fills the frame any better is shown with all of it.
	worthCutting = 0.77

	// mostBlown bounds how far a pixel of the take is blown up on the print.
	mostBlown = 1.5
)

// view maps pixels of the take to pixels of the print.
type view struct {
	Origin point // of the part shown, in pixels of the take from its outer edge
	Scale  float64
	Blur   float64 // how much further than the scaler a pixel of the take reaches, px of the print
}

// at returns where a place of the take is on the print. The centre of the take's
// top-left pixel is half a pixel from its outer edge.
func (v view) at(x, y float64) point {
	return point{(x + 0.5 - v.Origin.X) * v.Scale, (y + 0.5 - v.Origin.Y) * v.Scale}
}

// cutOut returns the part of a frame of the given size that is shown on a print
// printWidth wide for DefaultWidth: all of it, or, where the athlete is small in
// it, the part about the marks, of the frame's own shape.
func cutOut(r *reading.Reading, size image.Point, printWidth float64) image.Rectangle {
	whole := image.Rectangle{Max: size}
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	take := func(p point) {
		b = box{min(b.X0, p.X), min(b.Y0, p.Y), max(b.X1, p.X), max(b.Y1, p.Y)}
	}
	for _, m := range r.Marks {
		take(point{m.X, m.Y})
	}
	f := fanOn(r, view{Scale: 1}, size, 0)
	for _, p := range f.Sector() {
		take(p)
	}
	for _, a := range f.Arms {
		take(a.From)
		take(a.To)
	}
	room := around * max(draw.Wide(b), draw.High(b))
	w, h := draw.Wide(b)+2*room, draw.High(b)+2*room
	ratio := float64(size.Y) / float64(size.X)
	w = max(w, h/ratio, printWidth/mostBlown)
	if w >= worthCutting*float64(size.X) {
		return whole
	}
	w = math.Ceil(w)
	h = math.Ceil(w * ratio)
	place := func(mid, length, all float64) int {
		return int(math.Round(min(max(mid-length/2, 0), all-length)))
	}
	x := place((b.X0+b.X1)/2, w, float64(size.X))
	y := place((b.Y0+b.Y1)/2, h, float64(size.Y))
	return image.Rect(x, y, x+int(w), y+int(h)).Intersect(whole)
}
