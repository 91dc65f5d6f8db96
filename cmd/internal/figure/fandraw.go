package figure

import (
	"fmt"
	"image"
	"image/color"
	"math"

	"ecart/cmd/internal/hand"
	"ecart/cmd/internal/large"
	"ecart/cmd/internal/reading"

	xdraw "golang.org/x/image/draw"
)

// drawPicture returns the part cut of img, at the given size, with the covers and
// the fan of r over them.
func drawPicture(img image.Image, cut image.Rectangle, r *reading.Reading, w, h int, t float64, l *hand.Letters, opt Options) image.Image {
	return pictureSheet(img, cut, r, w, h, t, l, opt).image()
}

// pictureSheet is drawPicture, to be drawn on further.
func pictureSheet(img image.Image, cut image.Rectangle, r *reading.Reading, w, h int, t float64, l *hand.Letters, opt Options) *sheet {
	s := newSheet(w, h, hand.Paper, l)
	v := s.photo(img, cut, t, opt.Covers)
	f := planFan(r, v, point{float64(w), float64(h)}, t)
	s.sector(f, t)
	s.lines(f, t)
	marks := make([]ellipse, len(r.Marks))
	spots := make([]point, len(r.Marks))
	for i, m := range r.Marks {
		e, err := ellipseOf(m)
		if err != nil {
			continue // checkMarks let none of these through
		}
		marks[i] = e.scaled(v.Scale, 0.24*t)
		spots[i] = v.at(m.X, m.Y)
		s.mark(marks[i], spots[i], t)
	}
	s.names(f, r, marks, spots, t, opt.Words)
	return s
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

// photo lays the part of the picture over the whole of the sheet, with the covers on
// it.
func (s *sheet) photo(img image.Image, cut image.Rectangle, t float64, covers []Cover) view {
	ground := s.dc.Image().(*image.RGBA)
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
	s.covers(covers, v, t)
	return v
}

// sector draws the fan's ground, its wedges and its arc.
func (s *sheet) sector(f fan, t float64) {
	ground := f.slice(f.First, f.towards(f.Sweep), f.Radius)
	s.fill(hand.Thin(hand.Paper, 0.20), ground) // a slip of tracing paper, so that it shows on a dark picture
	s.fill(hand.Thin(hand.Measured, 0.17), ground)
	for _, w := range f.Wedges {
		pts := f.slice(w.From, w.To, w.Radius)
		s.fill(hand.Thin(hand.Paper, 0.55), pts)
		s.fill(hand.Thin(hand.Measured, 0.45), pts)
		s.outline(pen{colour: hand.Measured, width: 0.045 * t}, pts)
	}
	s.arc(f, t)
}

// slice returns the outline of the sector between two directions.
func (f fan) slice(from, to, radius float64) []point {
	n := 2 + int(math.Ceil(math.Abs(degrees(to-from))))
	pts := []point{f.Apex}
	for i := 0; i <= n; i++ {
		pts = append(pts, f.Apex.polar(radius, from+(to-from)*float64(i)/float64(n)))
	}
	return pts
}

// arc draws the dotted arc: a dot every 5 degrees from the first line on, a larger
// one every 30.
func (s *sheet) arc(f fan, t float64) {
	dir := math.Copysign(1, f.Sweep)
	for d := 5.0; d < math.Abs(f.Sweep); d += 5 {
		to := f.towards(dir * d)
		if f.inWedge(to) {
			continue
		}
		at := f.Apex.polar(f.Radius, to)
		r := 0.055 * t
		if math.Mod(d, 30) == 0 {
			r = 0.095 * t
		}
		s.disc(hand.Thin(hand.Paper, 0.6), at, r+0.035*t)
		s.disc(hand.Ink, at, r)
	}
}

// lines draws what is asked, and the two lines over it.
func (s *sheet) lines(f fan, t float64) {
	for _, a := range f.Asked {
		s.line(pen{colour: hand.Asked, width: 0.075 * t, dash: []float64{0.34 * t, 0.24 * t}, halo: 0.05 * t}, a[0], a[1])
	}
	if f.Carried != nil {
		s.line(pen{colour: hand.Measured, width: 0.05 * t, dash: []float64{0.14 * t, 0.14 * t}, halo: 0.045 * t}, f.Carried[0], f.Carried[1])
	}
	for _, a := range f.Arms {
		if a.Fixed {
			s.line(pen{colour: hand.Ink, width: 0.05 * t, halo: 0.05 * t}, a.From, a.To)
		}
	}
	for _, a := range f.Arms {
		if !a.Fixed {
			s.line(pen{colour: hand.Measured, width: 0.085 * t, halo: 0.03 * t}, a.From, a.To)
		}
	}
}

// inWedge reports whether a direction lies in one of the wedges.
func (f fan) inWedge(dir float64) bool {
	for _, w := range f.Wedges {
		mid, half := (w.From+w.To)/2, math.Abs(w.To-w.From)/2
		if math.Abs(math.Remainder(dir-mid, 2*math.Pi)) <= half {
			return true
		}
	}
	return false
}

// mark draws an ellipse and the white-rimmed centre of it.
func (s *sheet) mark(e ellipse, at point, t float64) {
	ring := e.ring(at)
	s.fill(hand.Thin(hand.Paper, 0.45), ring)
	s.outline(pen{colour: hand.Ink, width: 0.06 * t, halo: 0.04 * t}, ring)
	s.disc(hand.Ink, at, 0.12*t)
	s.disc(hand.White, at, 0.08*t)
}

// names writes the landmarks' names and what is asked where there is room.
func (s *sheet) names(f fan, r *reading.Reading, marks []ellipse, spots []point, t float64, say func(string) string) {
	if say == nil {
		say = func(s string) string { return s }
	}
	c := clutter{
		bounds: box{0.2 * t, 0.2 * t, float64(s.dc.Width()) - 0.2*t, float64(s.dc.Height()) - 0.2*t},
		busy:   f.contains,
	}
	for _, a := range f.Arms {
		c.lines = append(c.lines, [2]point{a.From, a.To})
	}
	c.lines = append(c.lines, f.Asked...)
	if f.Carried != nil {
		c.lines = append(c.lines, *f.Carried)
	}
	var tags []tag
	for i, m := range r.Marks {
		c.spots = append(c.spots, marks[i].box(spots[i]))
		text := s.l.Cut(hand.Sans, t, say(hand.Spaced(m.Landmark)), 0.5*c.bounds.width())
		tags = append(tags, tag{text, spots[i], max(marks[i].Long, marks[i].Short) + 0.12*t, hand.Ink})
	}
	if len(f.Asked) > 0 {
		last := f.Asked[len(f.Asked)-1]
		if len(f.Asked) == 2 && f.Asked[0][1].X > last[1].X {
			last = f.Asked[0]
		}
		tags = append(tags, tag{fmt.Sprintf("%s %s°", say("asked"), hand.Deg(r.Skill.ThresholdDeg)), c.bounds.last(last), 0.2 * t, askedOnPicture})
	}
	for _, a := range f.Arms {
		if a.Fixed {
			word := "level"
			if d := a.To.sub(a.From); math.Abs(d.Y) > math.Abs(d.X) {
				word = "plumb"
			}
			tags = append(tags, tag{say(word), c.bounds.last([2]point{a.From, a.To}), 0.2 * t, hand.Ink})
		}
	}
	width := func(w string) float64 { return s.l.Width(hand.Sans, t, w) }
	for _, p := range placeNames(tags, c, t, width) {
		if p.Led {
			s.line(pen{colour: hand.Ink, width: 0.035 * t, halo: 0.03 * t}, p.At, p.Box.nearest(p.At))
		}
		s.text(label{p.Text, (p.Box.X0 + p.Box.X1) / 2, p.Box.Y1 - 0.31*t, 0.5, t, hand.Sans, p.Colour}, 0.12*t)
	}
}

// askedOnPicture is the cool colour, darker: small words on a photograph.
var askedOnPicture = color.NRGBA{0x34, 0x48, 0x58, 0xff}

// nearest returns the point of b nearest to p.
func (b box) nearest(p point) point {
	return point{min(max(p.X, b.X0), b.X1), min(max(p.Y, b.Y0), b.Y1)}
}

// contains reports whether p lies in the fan's sector.
func (f fan) contains(p point) bool {
	d := p.sub(f.Apex)
	if d.norm() > f.Radius {
		return false
	}
	turned := f.Turn * degrees(math.Atan2(d.Y, d.X)-f.First) * math.Copysign(1, f.Sweep)
	return math.Mod(turned+720, 360) <= math.Abs(f.Sweep)
}
