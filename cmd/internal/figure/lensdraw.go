package figure

import (
	"fmt"
	"image"
	"math"

	"ecart/cmd/internal/hand"
	"ecart/geometry"
)

// Lens is what is drawn of a lens: where the board has been, what the lens bends,
// and how well that is known. Pixels are those of the pictures.
type Lens struct {
	Name          string // of the lens, such as its file's
	Width, Height int
	Boards        [][]geometry.Point // each board's corners, row by row
	Across        int                // how many corners a row has

	Columns, Rows int // a grid over the picture
	Counts        []int

	Centre geometry.Point                      // the principal point
	Bend   func(geometry.Point) geometry.Point // where the lens shows what shows at a place without it
	Curve  []LensShift                         // from the centre out to the farthest corner
	Reach  float64                             // how far from the centre the board has been
}

// LensShift is how far the lens moves what shows at a distance from the
// principal point, outwards positive, and its standard uncertainty; all in px.
type LensShift struct{ RadiusPx, ShiftPx, StandardPx float64 }

// DrawLens draws a lens on a page of its own.
func DrawLens(n Lens, opt Options) (image.Image, error) {
	opt, err := opt.filled()
	if err != nil {
		return nil, err
	}
	if n.Width < 1 || n.Height < 1 || n.Columns*n.Rows != len(n.Counts) || n.Bend == nil {
		return nil, hand.Problem("estimate the lens again", "a lens for pictures of %d by %d pixels cannot be drawn", n.Width, n.Height)
	}
	l, err := hand.NewLetters()
	if err != nil {
		return nil, err
	}
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
	s := newSheet(opt.Width, int(math.Ceil(third.Y1+2.2*t+m)), hand.Paper, l)

	title := "lens"
	s.text(label{title, m, m + 1.05*t, 0, 1.45 * t, hand.Italic, hand.Ink}, 0)
	x := m + l.Width(hand.Italic, 1.45*t, title) + 0.7*t
	size := fmt.Sprintf("%d × %d px", n.Width, n.Height)
	s.text(label{size, w - m, m + 1.05*t, 1, t, hand.Sans, hand.Faint}, 0)
	if name := hand.Clean(n.Name); name != "" {
		s.text(label{l.Cut(hand.Sans, t, name, w-m-l.Width(hand.Sans, t, size)-0.7*t-x), x, m + 1.05*t, 0, t, hand.Sans, hand.Ink}, 0)
	}
	s.line(pen{colour: hand.Rule, width: 0.04 * t}, point{m, m + 1.6*t}, point{w - m, m + 1.6*t})

	s.lensHead("where the board has been", "hatched: not there", first, t)
	s.lensBoards(n, first, t)
	times := n.times(first)
	note := "as it is"
	if times > 1 {
		note = fmt.Sprintf("drawn %g times as far", times)
	}
	s.lensHead("what the lens bends", note, second, t)
	s.lensGrid(n, second, times, t)
	s.lensFrame(second, t)
	s.lensHead("how far, and how well it is known", "95 % band", third, t)
	s.lensCurve(n, third, t)
	return s.image(), nil
}

func moved(b box, y float64) box { return box{b.X0, y, b.X1, y + b.height()} }

func (s *sheet) lensHead(text, note string, b box, t float64) {
	right := float64(s.dc.Width()) - b.X0
	s.text(label{text, b.X0, b.Y0 - 0.55*t, 0, 1.25 * t, hand.Italic, hand.Asked}, 0)
	s.text(label{note, right, b.Y0 - 0.55*t, 1, t, hand.Sans, hand.Faint}, 0)
}

// on is where a pixel of the picture lies in a frame.
func (n *Lens) on(b box, p geometry.Point) point {
	k := b.width() / float64(n.Width)
	return point{b.X0 + (p.X+0.5)*k, b.Y0 + (p.Y+0.5)*k}
}

func (s *sheet) lensFrame(b box, t float64) {
	s.outline(pen{colour: hand.Faint, width: 0.05 * t}, []point{{b.X0, b.Y0}, {b.X1, b.Y0}, {b.X1, b.Y1}, {b.X0, b.Y1}})
}

// lensBoards draws the boards, and hatches the cells without a corner.
func (s *sheet) lensBoards(n Lens, b box, t float64) {
	s.rect(hand.White, b)
	cw, ch := b.width()/float64(n.Columns), b.height()/float64(n.Rows)
	// strokes at 45 degrees go on from cell to cell where a cell's height is a
	// whole number of steps
	wide := hand.Band{Rank: 1, Of: 2}.Hatch(t) // as a first band is hatched
	spacing := ch / max(1, math.Round(ch/(wide*math.Sqrt2))) / math.Sqrt2
	for i, c := range n.Counts {
		if c == 0 {
			x, y := b.X0+cw*float64(i%n.Columns), b.Y0+ch*float64(i/n.Columns)
			for _, l := range hand.HatchLines[point](x, y, x+cw, y+ch, spacing) {
				s.line(pen{colour: hand.Rule, width: hand.HatchPen * t}, l[0], l[1])
			}
		}
	}
	for _, board := range n.Boards {
		var pts []point
		for _, p := range ringOf(board, n.Across) {
			pts = append(pts, n.on(b, p))
		}
		s.fill(hand.Thin(hand.Asked, 0.08), pts)
		s.outline(pen{colour: hand.Asked, width: 0.04 * t}, pts)
	}
	for _, board := range n.Boards {
		for _, p := range board {
			s.disc(hand.Ink, n.on(b, p), 0.055*t)
		}
	}
	s.lensFrame(b, t)
	at, arm := n.on(b, n.Centre), 0.35*t
	for _, d := range []point{{arm, 0}, {0, arm}} {
		s.line(pen{colour: hand.Measured, width: 0.09 * t, halo: 0.04 * t}, at.sub(d), at.add(d))
	}
}

// ringOf are the outer ones of corners in rows, in a ring.
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

// lensCells is how many cells the grid has along the longer side.
const lensCells = 12

// shift is how far the lens moves a place, and whether that can be drawn.
func (n *Lens) shift(p geometry.Point) (geometry.Vec, bool) {
	v := n.Bend(p).Sub(p)
	return v, v.Norm() < float64(max(n.Width, n.Height))/2
}

// times is by how much a slight bend is drawn larger, so that it is seen.
func (n *Lens) times(b box) float64 {
	const seen = 0.03 // of the frame's width
	most := 0.0
	for _, p := range []geometry.Point{{}, {X: float64(n.Width - 1)}, {Y: float64(n.Height - 1)}, {X: float64(n.Width - 1), Y: float64(n.Height - 1)}} {
		if v, ok := n.shift(p); ok {
			most = max(most, v.Norm()/float64(n.Width))
		}
	}
	out := 1.0
	for _, k := range []float64{2, 5, 10, 20, 50} {
		if k*most <= seen {
			out = k
		}
	}
	return out
}

// lensGrid draws a straight grid and, over it, the same grid through the lens.
func (s *sheet) lensGrid(n Lens, b box, times, t float64) {
	s.rect(hand.White, b)
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
		s.polyline(pen{colour: hand.Asked, width: 0.03 * t, dash: []float64{0.16 * t, 0.16 * t}}, straight)
		if len(bent) > 1 {
			s.polyline(pen{colour: hand.Measured, width: 0.055 * t}, bent)
		}
	}
	s.dc.DrawRectangle(b.X0, b.Y0, b.width(), b.height())
	s.dc.Clip()
	defer s.dc.ResetClip()
	for i := range cols + 1 {
		x := w*float64(i)/float64(cols) - 0.5
		along(func(f float64) geometry.Point { return geometry.Point{X: x, Y: h*f - 0.5} }, fine*rows)
	}
	for i := range rows + 1 {
		y := h*float64(i)/float64(rows) - 0.5
		along(func(f float64) geometry.Point { return geometry.Point{X: w*f - 0.5, Y: y} }, fine*cols)
	}
}

// lensCurve draws the shift over the distance from the centre, with its band.
func (s *sheet) lensCurve(n Lens, b box, t float64) {
	s.rect(hand.White, b)
	if len(n.Curve) < 2 {
		s.lensFrame(b, t)
		return
	}
	// the band may grow without end where the board has not been: the scale is
	// that of the curve
	low, high, far := 0.0, 0.0, n.Curve[len(n.Curve)-1].RadiusPx
	for _, c := range n.Curve {
		low, high = min(low, c.ShiftPx), max(high, c.ShiftPx)
	}
	pad := max(0.35*(high-low), 1)
	low, high = low-pad, high+pad
	at := func(r, v float64) point {
		return point{b.X0 + b.width()*r/far, b.Y1 - b.height()*(min(max(v, low), high)-low)/(high-low)}
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
	s.fill(hand.Thin(hand.Measured, 0.26), band)
	s.line(pen{colour: hand.Rule, width: 0.04 * t}, at(0, 0), at(far, 0))
	s.polyline(pen{colour: hand.Measured, width: 0.075 * t}, curve)
	if n.Reach > 0 && n.Reach < far {
		a, c := at(n.Reach, low), at(n.Reach, high)
		s.line(pen{colour: hand.Asked, width: 0.06 * t, dash: []float64{0.34 * t, 0.24 * t}}, a, c)
		words, anchor := "the board has been so far", 1.0
		edge := a.X - 0.3*t
		if edge-s.l.Width(hand.Sans, t, words) < b.X0+3*t {
			anchor, edge = 0, a.X+0.3*t
		}
		s.text(label{words, edge, b.Y1 - 0.4*t, anchor, t, hand.Sans, hand.Asked}, 0.12*t)
	}
	s.lensFrame(b, t)
	s.lensScale(b, at, low, high, far, t)
}

// lensScale writes the figures along the curve.
func (s *sheet) lensScale(b box, at func(r, v float64) point, low, high, far, t float64) {
	step := roundStep((high - low) / 6)
	for v := math.Ceil(low/step) * step; v <= high; v += step {
		p := at(0, v)
		if math.Abs(v) < step/2 || p.Y < b.Y0+0.5*t || p.Y > b.Y1-0.3*t {
			continue // the line at nought needs no figure, and the curve begins there
		}
		s.line(pen{colour: hand.Faint, width: 0.035 * t}, p, p.add(point{0.25 * t, 0}))
		s.text(label{fmt.Sprintf("%+.3g px", v), p.X + 0.4*t, p.Y + 0.33*t, 0, t, hand.Sans, hand.Faint}, 0.12*t)
	}
	across := roundStep(far / 6)
	for r := across; r < far-0.3*across; r += across {
		p := at(r, low)
		s.line(pen{colour: hand.Faint, width: 0.035 * t}, p, p.add(point{0, tickLong * t}))
		s.text(label{fmt.Sprintf("%g", r), p.X, p.Y + underTicks*t, 0.5, t, hand.Sans, hand.Faint}, 0)
	}
	s.text(label{"px from the centre", b.X1, b.Y1 + underTicks*t + 1.1*t, 1, t, hand.Sans, hand.Faint}, 0)
}

// roundStep is the next of 1, 2 and 5 times a power of ten.
func roundStep(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{1, 2, 5} {
		if k*p >= v {
			return k * p
		}
	}
	return 10 * p
}
