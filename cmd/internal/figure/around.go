package figure

import (
	"image"
	"math"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

const (
	// armReach is how far from the neck a hand can be, a shoulder, arm and hand
	// long, and footReach how far a toe is from the ankle, in statures (Drillis and
	// Contini 1966, from memory).
	armReach  = 0.46
	footReach = 0.16

	// bare is the room left about the body, in statures.
	bare = 0.06
)

// Around is the part of a frame of the given size that shows the fan and the athlete
// of r, in pixels of the take: head, arms and hands, and a limb to its end where that
// is marked; legs that carry no mark may be cut. ratio is its height over its width,
// which it keeps unless the frame ends. Where the marks do not tell how large the
// athlete is, it is the whole frame.
func Around(r *reading.Reading, size image.Point, ratio float64) image.Rectangle {
	whole := image.Rectangle{Max: size}
	if !draw.Angles(r.AngleDeg, r.PictureAngleDeg) || checkMarks(r, size.X, size.Y) != nil {
		return whole // of which Picture says what is wrong
	}
	b, ok := bodyBox(r, size)
	if !ok || !(ratio > 0.2 && ratio < 5) {
		return whole
	}
	w, h := draw.Wide(b), draw.High(b)
	w, h = max(w, h/ratio), max(h, w*ratio)
	// What the frame lacks one way is not made up for by cutting the other.
	w, h = min(w, float64(size.X)), min(h, float64(size.Y))
	place := func(mid, length float64, all int) int {
		return int(math.Round(min(max(mid-length/2, 0), float64(all)-length)))
	}
	x, y := place((b.X0+b.X1)/2, w, size.X), place((b.Y0+b.Y1)/2, h, size.Y)
	return image.Rect(x, y, x+int(math.Ceil(w)), y+int(math.Ceil(h))).Intersect(whole)
}

// Stature is how long the athlete of r shows, standing, in pixels of the take: as the
// longest of the marked segments tells; 0 where none does.
func Stature(r *reading.Reading) float64 { return bodyOf(MarksOf(r)).stature }

// bodyBox is about all of the athlete that may be in the frame, and the fan.
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
	if !body.has { // the trunk and a raised arm may be on any side of the hip
		for _, l := range r.Lines {
			take(point{l.FromX, l.FromY}, 0.8*body.stature)
		}
	}
	f := fanOn(r, view{Scale: 1}, size, 0)
	for _, p := range f.Sector() {
		take(p, bare*body.stature)
	}
	for _, a := range f.Asked {
		take(a[1], bare*body.stature)
	}
	frame := box{0, 0, float64(size.X), float64(size.Y)}
	b = box{max(b.X0, frame.X0), max(b.Y0, frame.Y0), min(b.X1, frame.X1), min(b.Y1, frame.Y1)}
	return b, draw.Wide(b) > 8 && draw.High(b) > 8
}
