package figure

import (
	"image"
	"math"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

const (
	// around is the margin about the marks and the fan on every side, as a share of
	// their longer extent. It makes room for head, hands and feet, which have no marks.
	around = 0.45

	// worthCutting is the largest width of the part, as a share of the frame's width, for
	// which the frame is cropped.
	worthCutting = 0.77

	// mostEnlarged is the largest scale, in pixels of the print per pixel of the take.
	mostEnlarged = 1.5
)

// view maps pixels of the take to pixels of the print.
type view struct {
	Origin point // of the part shown, in pixels of the take from its outer edge
	Scale  float64
	Blur   float64 // distance by which a pixel of the take spreads beyond the scaler's kernel, px of the print
}

// at returns the position on the print of a position in the take. The centre of the take's
// top-left pixel is half a pixel from its outer edge.
func (v view) at(x, y float64) point {
	return point{(x + 0.5 - v.Origin.X) * v.Scale, (y + 0.5 - v.Origin.Y) * v.Scale}
}

// cutOut returns the part of a frame of the given size to show on a print. It is the whole
// frame or, if the athlete is small in it, a part about the marks with the frame's aspect
// ratio. printWidth is the width of the print in pixels for a figure of DefaultWidth.
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
	w = max(w, h/ratio, printWidth/mostEnlarged)
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

const (
	// Reaches in statures (Drillis and Contini 1966, from memory).
	armReach  = 0.46 // from the neck to the end of the hand
	footReach = 0.16 // from the ankle to the toe

	// bodyRoom is the margin about the body, in statures.
	bodyRoom = 0.06
)

// Around returns the part of a frame of the given size that shows the fan and the athlete
// of r, in pixels of the take: head, arms and hands, and limbs with marks; unmarked legs
// may be cut. ratio is the height of the part over its width, which is kept within the
// frame. If the marks do not determine the athlete's size, it returns the whole frame.
func Around(r *reading.Reading, size image.Point, ratio float64) image.Rectangle {
	whole := image.Rectangle{Max: size}
	if !draw.Angles(r.AngleDeg, r.PictureAngleDeg) || checkMarks(r, size.X, size.Y) != nil {
		return whole // Picture reports the error
	}
	b, ok := bodyBox(r, size)
	if !ok || !(ratio > 0.2 && ratio < 5) {
		return whole
	}
	w, h := draw.Wide(b), draw.High(b)
	w, h = max(w, h/ratio), max(h, w*ratio)
	// at the frame's edge the ratio is given up rather than cutting the athlete
	w, h = min(w, float64(size.X)), min(h, float64(size.Y))
	place := func(mid, length float64, all int) int {
		return int(math.Round(min(max(mid-length/2, 0), float64(all)-length)))
	}
	x, y := place((b.X0+b.X1)/2, w, size.X), place((b.Y0+b.Y1)/2, h, size.Y)
	return image.Rect(x, y, x+int(math.Ceil(w)), y+int(math.Ceil(h))).Intersect(whole)
}

// Stature returns the athlete's stature in pixels of the take, estimated from the marked
// segment that appears longest relative to stature; 0 if there is none.
func Stature(r *reading.Reading) float64 { return bodyOf(MarksOf(r)).stature }

// bodyBox returns a box that contains the athlete, as far as visible in the frame, and the
// fan.
func bodyBox(r *reading.Reading, size image.Point) (box, bool) {
	body := bodyOf(MarksOf(r))
	if !(body.stature > 0) {
		return box{}, false
	}
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	take := func(p point, room float64) {
		b = box{min(b.X0, p.X-room), min(b.Y0, p.Y-room), max(b.X1, p.X+room), max(b.Y1, p.Y+room)}
	}
	for _, m := range r.Marks {
		room := footReach
		if draw.Part(m.Landmark) == "shoulder" {
			room = armReach
		}
		take(point{m.X, m.Y}, room*body.stature)
	}
	if !body.has { // without a shoulder, trunk and arms may be on any side of the hip
		for _, l := range r.Lines {
			take(point{l.FromX, l.FromY}, 0.8*body.stature)
		}
	}
	f := fanOn(r, view{Scale: 1}, size, 0)
	for _, p := range f.Sector() {
		take(p, bodyRoom*body.stature)
	}
	for _, a := range f.Asked {
		take(a[1], bodyRoom*body.stature)
	}
	frame := box{0, 0, float64(size.X), float64(size.Y)}
	b = box{max(b.X0, frame.X0), max(b.Y0, frame.Y0), min(b.X1, frame.X1), min(b.Y1, frame.Y1)}
	return b, draw.Wide(b) > 8 && draw.High(b) > 8
}
