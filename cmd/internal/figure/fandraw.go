package figure

import (
	"fmt"
	"image"
	"image/color"
	"math"

	"ecart/cmd/internal/draw"
	"ecart/cmd/internal/reading"
)

// pictureSheet returns the part cut of img, w by h pixels, with the covers and the fan of r.
func pictureSheet(img image.Image, cut image.Rectangle, r *reading.Reading, w, h int, t float64, l *draw.Letters, opt Options) *sheet {
	s := newSheet(w, h, t, l)
	v := s.photo(img, cut, opt.Covers)
	f := fanOn(r, v, image.Pt(w, h), t)
	s.sector(f)
	s.lines(f)
	shown := r.Shown()
	marks := make([]draw.Ellipse, len(shown))
	spots := make([]point, len(shown))
	for i, m := range shown {
		e, err := draw.EllipseOf(m)
		if err != nil {
			continue // cannot happen: checkMarks refuses such marks
		}
		marks[i] = e.Scaled(v.Scale, 0.24*t)
		spots[i] = v.at(m.X, m.Y)
		s.mark(marks[i], spots[i])
	}
	s.names(f, r, marks, spots, opt.Words)
	return s
}

// fanOn returns the fan for a print of the given size with text of size t.
func fanOn(r *reading.Reading, v view, size image.Point, t float64) draw.Fan {
	return draw.NewFan(r, v.at, 1.8*t, 0.42*float64(max(size.X, size.Y)))
}

// sector draws the fan's sector, its wedges and its arc.
func (s *sheet) sector(f draw.Fan) {
	t, ground := s.T, f.Sector()
	s.Fill(draw.Thin(draw.Paper, 0.20), ground) // makes the sector visible on a dark picture
	s.Fill(draw.Thin(draw.Measured, 0.17), ground)
	for _, w := range f.Wedges {
		pts := f.Slice(w)
		s.Fill(draw.Thin(draw.Paper, 0.55), pts)
		s.Fill(draw.Thin(draw.Measured, 0.45), pts)
		s.Outline(draw.Pen{Colour: draw.Measured, Width: 0.045 * t}, pts)
	}
	s.arc(f)
}

// arc draws the dotted arc: a dot every 5 degrees from the first line, a larger one every
// 30.
func (s *sheet) arc(f draw.Fan) {
	t := s.T
	dir := math.Copysign(1, f.Sweep)
	for d := 5.0; d < math.Abs(f.Sweep); d += 5 {
		to := f.Towards(dir * d)
		if f.InWedge(to) {
			continue
		}
		at := draw.Polar(f.Apex, f.Radius, to)
		r := 0.055 * t
		if math.Mod(d, 30) == 0 {
			r = 0.095 * t
		}
		s.Disc(draw.Thin(draw.Paper, 0.6), at, r+0.035*t)
		s.Disc(draw.Ink, at, r)
	}
}

// lines draws the asked angle, and over it the two lines.
func (s *sheet) lines(f draw.Fan) {
	t := s.T
	for _, a := range f.Asked {
		s.Line(draw.Pen{Colour: draw.Asked, Width: 0.075 * t, Dash: draw.Dashed(t), Halo: 0.05 * t}, a[0], a[1])
	}
	if f.Carried != nil {
		s.Line(draw.Pen{Colour: draw.Measured, Width: 0.05 * t, Dash: []float64{0.14 * t, 0.14 * t}, Halo: 0.045 * t}, f.Carried[0], f.Carried[1])
	}
	for _, a := range f.Arms {
		if a.Fixed {
			s.Line(draw.Pen{Colour: draw.Ink, Width: 0.05 * t, Halo: 0.05 * t}, a.From, a.To)
		}
	}
	for _, a := range f.Arms {
		if !a.Fixed {
			s.Line(draw.Pen{Colour: draw.Measured, Width: 0.085 * t, Halo: 0.03 * t}, a.From, a.To)
		}
	}
}

// mark draws an ellipse and its centre.
func (s *sheet) mark(e draw.Ellipse, at point) {
	t, ring := s.T, e.Ring(at)
	s.Fill(draw.Thin(draw.Paper, 0.45), ring)
	s.Outline(draw.Pen{Colour: draw.Ink, Width: 0.06 * t, Halo: 0.04 * t}, ring)
	s.Disc(draw.Ink, at, 0.12*t)
	s.Disc(draw.White, at, 0.08*t)
}

// names writes the names of the landmarks and the asked angle where there is room.
func (s *sheet) names(f draw.Fan, r *reading.Reading, marks []draw.Ellipse, spots []point, translate func(string) string) {
	t := s.T
	if translate == nil {
		translate = func(s string) string { return s }
	}
	c := clutter{
		bounds: box{0.2 * t, 0.2 * t, s.W - 0.2*t, s.H - 0.2*t},
		busy:   f.Contains,
	}
	for _, a := range f.Arms {
		c.lines = append(c.lines, [2]point{a.From, a.To})
	}
	c.lines = append(c.lines, f.Asked...)
	if f.Carried != nil {
		c.lines = append(c.lines, *f.Carried)
	}
	var tags []tag
	for i, m := range r.Shown() {
		c.spots = append(c.spots, marks[i].Box(spots[i]))
		text := s.L.Cut(draw.Sans, t, translate(draw.Spaced(m.Landmark)), 0.5*draw.Wide(c.bounds))
		tags = append(tags, tag{text, spots[i], max(marks[i].Long, marks[i].Short) + 0.12*t, draw.Ink})
	}
	if len(f.Asked) > 0 {
		last := f.Asked[len(f.Asked)-1]
		if len(f.Asked) == 2 && f.Asked[0][1].X > last[1].X {
			last = f.Asked[0]
		}
		tags = append(tags, tag{fmt.Sprintf("%s %s°", translate("asked"), draw.Deg(r.Skill.ThresholdDeg)), lastIn(c.bounds, last), 0.2 * t, askedOnPicture})
	}
	for i, a := range f.Arms {
		if a.Fixed {
			tags = append(tags, tag{translate(draw.Spaced(r.Lines[i].To)), lastIn(c.bounds, [2]point{a.From, a.To}), 0.2 * t, draw.Ink})
		}
	}
	width := func(w string) float64 { return s.L.Width(draw.Sans, t, w) }
	for _, p := range placeNames(tags, c, t, width) {
		if p.Led {
			s.Line(draw.Pen{Colour: draw.Ink, Width: 0.035 * t, Halo: 0.03 * t}, p.At, nearest(p.Box, p.At))
		}
		s.HaloText(label{p.Text, (p.Box.X0 + p.Box.X1) / 2, p.Box.Y1 - 0.31*t, 0.5, t, draw.Sans, p.Colour}, 0.12*t)
	}
}

// askedOnPicture is a darker draw.Asked, for small text on a photograph.
var askedOnPicture = color.NRGBA{0x34, 0x48, 0x58, 0xff}

// nearest returns the point of b nearest to p.
func nearest(b box, p point) point {
	return point{min(max(p.X, b.X0), b.X1), min(max(p.Y, b.Y0), b.Y1)}
}
