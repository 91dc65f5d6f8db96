package figure

import (
	"fmt"
	"image"
	"math"

	"ecart/cmd/internal/draw"
	"ecart/geometry"
)

// Lens is the data for the drawing of a lens: where the board was, the distortion, and its
// uncertainty. Pixels are those of the pictures.
type Lens struct {
	Name          string // of the lens, such as its file's
	Width, Height int
	Boards        [][]geometry.Point // each board's corners, row by row
	Across        int                // number of corners in a row

	Columns, Rows int // a grid over the picture
	Counts        []int

	Centre geometry.Point                      // the principal point
	Bend   func(geometry.Point) geometry.Point // maps an undistorted pixel to the distorted one
	Curve  []LensShift                         // from the centre to the farthest corner
	Reach  float64                             // largest distance of the board from the centre
}

// LensShift is the radial distortion at a distance from the principal point, positive
// outwards, and its standard uncertainty; all in px.
type LensShift struct{ RadiusPx, ShiftPx, StandardPx float64 }

// DrawLens draws a lens as one page.
func DrawLens(n Lens, opt Options) (image.Image, error) {
	opt, err := opt.filled()
	if err != nil {
		return nil, err
	}
	if n.Width < 1 || n.Height < 1 || n.Columns*n.Rows != len(n.Counts) || n.Bend == nil {
		return nil, draw.Problem("estimate the lens again", "a lens for pictures of %d by %d pixels cannot be drawn", n.Width, n.Height)
	}
	l := draw.NewLetters()
	w := float64(opt.Width)
	t := textSize(w)
	m := 0.95 * t
	room := w - 2*m
	ratio := float64(n.Height) / float64(n.Width)
	frame := box{m, 0, m + room, room * ratio}
	if ratio > narrow { // upright pictures side by side would be small: each is as high as the page is wide
		frame.X1 = m + room/ratio
		frame.Y1 = room
	}
	const head, gap = 2.0, 0.9
	plot := 7.5 * t
	top := m + 2.0*t
	first := moved(frame, top+head*t)
	second := moved(frame, first.Y1+(gap+head)*t)
	third := box{m, second.Y1 + (gap+head)*t, m + room, second.Y1 + (gap+head)*t + plot}
	s := newSheet(opt.Width, int(math.Ceil(third.Y1+2.2*t+m)), t, l)

	title := "lens"
	s.Text(label{title, m, m + 1.05*t, 0, 1.45 * t, draw.Italic, draw.Ink})
	x := m + l.Width(draw.Italic, 1.45*t, title) + 0.7*t
	size := fmt.Sprintf("%d × %d px", n.Width, n.Height)
	s.Text(label{size, w - m, m + 1.05*t, 1, t, draw.Sans, draw.Faint})
	if name := draw.Clean(n.Name); name != "" {
		s.Text(label{l.Cut(draw.Sans, t, name, w-m-l.Width(draw.Sans, t, size)-0.7*t-x), x, m + 1.05*t, 0, t, draw.Sans, draw.Ink})
	}
	s.Line(draw.Pen{Colour: draw.Rule, Width: 0.04 * t}, point{m, m + 1.6*t}, point{w - m, m + 1.6*t})

	s.lensHead("where the board has been", "hatched: not there", first)
	s.lensBoards(n, first)
	times := n.times(first)
	note := "as it is"
	if times > 1 {
		note = fmt.Sprintf("drawn %g times as far", times)
	}
	s.lensHead("what the lens bends", note, second)
	s.lensGrid(n, second, times)
	s.lensFrame(second)
	s.lensHead("how far, and how well it is known", "95 % band", third)
	s.lensCurve(n, third)
	return s.image(), nil
}

func moved(b box, y float64) box { return box{b.X0, y, b.X1, y + draw.High(b)} }

func (s *sheet) lensHead(text, note string, b box) {
	t := s.T
	right := s.W - b.X0
	s.Text(label{text, b.X0, b.Y0 - 0.55*t, 0, 1.25 * t, draw.Italic, draw.Asked})
	s.Text(label{note, right, b.Y0 - 0.55*t, 1, t, draw.Sans, draw.Faint})
}

// on returns the position of a pixel of the picture in a frame of the drawing.
func (n *Lens) on(b box, p geometry.Point) point {
	k := draw.Wide(b) / float64(n.Width)
	return point{b.X0 + (p.X+0.5)*k, b.Y0 + (p.Y+0.5)*k}
}

func (s *sheet) lensFrame(b box) {
	t := s.T
	s.Outline(draw.Pen{Colour: draw.Faint, Width: 0.05 * t}, draw.Corners(b))
}

// lensBoards draws the boards, and hatches the cells without a corner.
func (s *sheet) lensBoards(n Lens, b box) {
	t := s.T
	s.Rect(draw.White, b)
	cw, ch := draw.Wide(b)/float64(n.Columns), draw.High(b)/float64(n.Rows)
	// strokes at 45 degrees are continuous across cells if a cell's height is a whole
	// number of steps
	wide := draw.Band{Rank: 1, Of: 2}.Hatch(t) // the hatching of a first band
	spacing := ch / max(1, math.Round(ch/(wide*math.Sqrt2))) / math.Sqrt2
	for i, c := range n.Counts {
		if c == 0 {
			x, y := b.X0+cw*float64(i%n.Columns), b.Y0+ch*float64(i/n.Columns)
			for _, l := range draw.HatchLines(x, y, x+cw, y+ch, spacing) {
				s.Line(draw.Pen{Colour: draw.Rule, Width: draw.HatchPen * t}, l[0], l[1])
			}
		}
	}
	for _, board := range n.Boards {
		var pts []point
		for _, p := range ringOf(board, n.Across) {
			pts = append(pts, n.on(b, p))
		}
		s.Fill(draw.Thin(draw.Asked, 0.08), pts)
		s.Outline(draw.Pen{Colour: draw.Asked, Width: 0.04 * t}, pts)
	}
	for _, board := range n.Boards {
		for _, p := range board {
			s.Disc(draw.Ink, n.on(b, p), 0.055*t)
		}
	}
	s.lensFrame(b)
	at, arm := n.on(b, n.Centre), 0.35*t
	for _, d := range []point{{arm, 0}, {0, arm}} {
		s.Line(draw.Pen{Colour: draw.Measured, Width: 0.09 * t, Halo: 0.04 * t}, draw.Sub(at, d), draw.Add(at, d))
	}
}

// ringOf returns the outer corners of a board, in the order of its outline.
func ringOf(corners []geometry.Point, across int) []geometry.Point {
	if across < 2 || len(corners) < 2*across {
		return nil
	}
	last := len(corners) - across
	out := append([]geometry.Point{}, corners[:across]...)
	for i := 2*across - 1; i < last; i += across {
		out = append(out, corners[i])
	}
	for i := len(corners) - 1; i >= last; i-- {
		out = append(out, corners[i])
	}
	for i := last - across; i > 0; i -= across {
		out = append(out, corners[i])
	}
	return out
}

// lensCells is the number of cells of the grid along the longer side.
const lensCells = 12

// shift returns the distortion at p, px. It reports false if it is too large to draw.
func (n *Lens) shift(p geometry.Point) (geometry.Vec, bool) {
	v := n.Bend(p).Sub(p)
	return v, v.Norm() < float64(max(n.Width, n.Height))/2
}

// times returns the factor by which a slight distortion is exaggerated to be visible.
func (n *Lens) times(b box) float64 {
	const visible = 0.03 // share of the frame's width
	most := 0.0
	for _, p := range []geometry.Point{{}, {X: float64(n.Width - 1)}, {Y: float64(n.Height - 1)}, {X: float64(n.Width - 1), Y: float64(n.Height - 1)}} {
		if v, ok := n.shift(p); ok {
			most = max(most, v.Norm()/float64(n.Width))
		}
	}
	out := 1.0
	for _, k := range []float64{2, 5, 10, 20, 50} {
		if k*most <= visible {
			out = k
		}
	}
	return out
}

// lensGrid draws a straight grid and, over it, the same grid through the lens.
func (s *sheet) lensGrid(n Lens, b box, times float64) {
	t := s.T
	s.Rect(draw.White, b)
	long := max(n.Width, n.Height)
	cols, rows := max(2, (lensCells*n.Width+long/2)/long), max(2, (lensCells*n.Height+long/2)/long)
	w, h := float64(n.Width), float64(n.Height)
	const fine = 8 // pieces of a line for each cell
	along := func(at func(f float64) geometry.Point, pieces int) {
		var straight, bent []point
		for i := range pieces + 1 {
			p := at(float64(i) / float64(pieces))
			straight = append(straight, n.on(b, p))
			if v, ok := n.shift(p); ok {
				bent = append(bent, n.on(b, p.Add(v.Scale(times))))
			}
		}
		s.Line(draw.Pen{Colour: draw.Asked, Width: 0.03 * t, Dash: []float64{0.16 * t, 0.16 * t}}, straight...)
		if len(bent) > 1 {
			s.Lines(draw.Pen{Colour: draw.Measured, Width: 0.055 * t}, inside(bent, b))
		}
	}
	for i := range cols + 1 {
		x := w*float64(i)/float64(cols) - 0.5
		along(func(f float64) geometry.Point { return geometry.Point{X: x, Y: h*f - 0.5} }, fine*rows)
	}
	for i := range rows + 1 {
		y := h*float64(i)/float64(rows) - 0.5
		along(func(f float64) geometry.Point { return geometry.Point{X: w*f - 0.5, Y: y} }, fine*cols)
	}
}

// inside returns the parts of a line that lie in b.
func inside(line []point, b box) [][]point {
	var out [][]point
	for i := range line[1:] {
		l := [2]point{line[i], line[i+1]}
		from, to := clip(b, l)
		if from >= to {
			continue
		}
		d := draw.Sub(l[1], l[0])
		at := func(share float64) point { return point{l[0].X + share*d.X, l[0].Y + share*d.Y} }
		if n := len(out); n > 0 && from == 0 && out[n-1][len(out[n-1])-1] == l[0] {
			out[n-1] = append(out[n-1], at(to))
		} else {
			out = append(out, []point{at(from), at(to)})
		}
	}
	return out
}

// lensCurve draws the distortion over the distance from the centre, with its 95 % band.
func (s *sheet) lensCurve(n Lens, b box) {
	t := s.T
	s.Rect(draw.White, b)
	if len(n.Curve) < 2 {
		s.lensFrame(b)
		return
	}
	// beyond the board the band may become very wide, so the scale follows the curve only
	low, high, far := 0.0, 0.0, n.Curve[len(n.Curve)-1].RadiusPx
	for _, c := range n.Curve {
		low, high = min(low, c.ShiftPx), max(high, c.ShiftPx)
	}
	pad := max(0.35*(high-low), 1)
	low, high = low-pad, high+pad
	at := func(r, v float64) point {
		return point{b.X0 + draw.Wide(b)*r/far, b.Y1 - draw.High(b)*(min(max(v, low), high)-low)/(high-low)}
	}
	var band, back, curve []point
	for _, c := range n.Curve {
		u := 1.96 * c.StandardPx
		band, back = append(band, at(c.RadiusPx, c.ShiftPx+u)), append(back, at(c.RadiusPx, c.ShiftPx-u))
		curve = append(curve, at(c.RadiusPx, c.ShiftPx))
	}
	for i := len(back) - 1; i >= 0; i-- {
		band = append(band, back[i])
	}
	s.Fill(draw.Thin(draw.Measured, 0.26), band)
	s.Line(draw.Pen{Colour: draw.Rule, Width: 0.04 * t}, at(0, 0), at(far, 0))
	s.Line(draw.Pen{Colour: draw.Measured, Width: 0.075 * t}, curve...)
	if n.Reach > 0 && n.Reach < far {
		a, c := at(n.Reach, low), at(n.Reach, high)
		s.Line(draw.Pen{Colour: draw.Asked, Width: 0.06 * t, Dash: draw.Dashed(t)}, a, c)
		words, anchor := "the board has been so far", 1.0
		edge := a.X - 0.3*t
		if edge-s.L.Width(draw.Sans, t, words) < b.X0+3*t {
			anchor, edge = 0, a.X+0.3*t
		}
		s.HaloText(label{words, edge, b.Y1 - 0.4*t, anchor, t, draw.Sans, draw.Asked}, 0.12*t)
	}
	s.lensFrame(b)
	s.lensScale(b, at, low, high, far)
}

// lensScale draws the scales of the curve.
func (s *sheet) lensScale(b box, at func(r, v float64) point, low, high, far float64) {
	t := s.T
	step := roundStep((high - low) / 6)
	for v := math.Ceil(low/step) * step; v <= high; v += step {
		p := at(0, v)
		if math.Abs(v) < step/2 || p.Y < b.Y0+0.5*t || p.Y > b.Y1-0.3*t {
			continue // no label at 0, where the curve begins, and none at the edges
		}
		s.Line(draw.Pen{Colour: draw.Faint, Width: 0.035 * t}, p, draw.Add(p, point{0.25 * t, 0}))
		s.HaloText(label{fmt.Sprintf("%+.3g px", v), p.X + 0.4*t, p.Y + 0.33*t, 0, t, draw.Sans, draw.Faint}, 0.12*t)
	}
	across := roundStep(far / 6)
	for r := across; r < far-0.3*across; r += across {
		p := at(r, low)
		s.Line(draw.Pen{Colour: draw.Faint, Width: 0.035 * t}, p, draw.Add(p, point{0, draw.TickLong * t}))
		s.Text(label{fmt.Sprintf("%g", r), p.X, p.Y + draw.UnderTicks*t, 0.5, t, draw.Sans, draw.Faint})
	}
	s.Text(label{"px from the centre", b.X1, b.Y1 + draw.UnderTicks*t + 1.1*t, 1, t, draw.Sans, draw.Faint})
}

// roundStep returns the smallest of 1, 2 and 5 times a power of ten that is at least v.
func roundStep(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{1, 2, 5} {
		if k*p >= v {
			return k * p
		}
	}
	return 10 * p
}
