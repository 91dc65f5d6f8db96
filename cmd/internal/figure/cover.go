package figure

import (
	"cmp"
	"math"
	"slices"

	"ecart/cmd/internal/draw"
)

// Cover hides a part of a picture under opaque, hatched paper. Its shape is the convex
// hull of some discs, in pixels of the take.
type Cover struct {
	discs   []disc
	stature float64 // px, of the athlete whose head it covers; 0 unknown
}

type disc struct {
	At point
	R  float64
}

// everything covers a whole picture of any size.
var everything = Cover{discs: []disc{{R: 1e7}}}

// CoverAt returns a circular cover placed by a person, about (x, y), in pixels of the take;
// (0, 0) is the centre of the top-left pixel.
func CoverAt(x, y, radius float64) (Cover, error) {
	if !draw.Finite(x, y, radius) || !(radius >= 1 && radius <= 1e5) || math.Abs(x) > 1e6 || math.Abs(y) > 1e6 {
		return Cover{}, draw.Problem("give the middle of the head and a radius, all in pixels", "a cover of %g pixels about (%g, %g) is none", radius, x, y)
	}
	return Cover{discs: []disc{{point{x, y}, radius}}}, nil
}

// Moved returns the cover for a picture that was shifted or rotated: where maps positions
// in the old picture to the new one, and preserves lengths.
func (c Cover) Moved(where func(x, y float64) (float64, float64)) Cover {
	out := Cover{stature: c.stature}
	for _, d := range c.discs {
		x, y := where(d.At.X, d.At.Y)
		out.discs = append(out.discs, disc{point{x, y}, d.R})
	}
	return out
}

// grown returns the cover enlarged on all sides by the given width, px.
func (c Cover) grown(by float64) Cover {
	out := Cover{stature: c.stature}
	for _, d := range c.discs {
		out.discs = append(out.discs, disc{d.At, d.R + by})
	}
	return out
}

// bleed is the distance by which a pixel spreads if a picture is scaled, in pixels of the
// print: the radius of the scaler's kernel.
const bleed = 2

// halvedBlur is the additional distance if the picture was halved before: half the diagonal of a
// halved pixel, which is at most as large as a pixel of the print.
const halvedBlur = math.Sqrt2 / 2

// outline returns the cover's convex outline on a print. It encloses the discs.
func (c Cover) outline(v view) []point {
	const n = 72
	outside := 1 / math.Cos(math.Pi/n)
	var pts []point
	for _, d := range c.discs {
		at, r := v.at(d.At.X, d.At.Y), d.R*v.Scale*outside+bleed+v.Blur
		for i := range n {
			pts = append(pts, draw.Polar(at, r, 2*math.Pi*float64(i)/n))
		}
	}
	return hull(pts)
}

// hull returns the convex hull, by Andrew's monotone chain.
func hull(pts []point) []point {
	slices.SortFunc(pts, func(a, b point) int {
		if c := cmp.Compare(a.X, b.X); c != 0 {
			return c
		}
		return cmp.Compare(a.Y, b.Y)
	})
	left := func(a, b, c point) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }
	chain := func(pts []point) []point {
		var out []point
		for _, p := range pts {
			for len(out) > 1 && left(out[len(out)-2], out[len(out)-1], p) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, p)
		}
		return out
	}
	lower := chain(pts)
	slices.Reverse(pts)
	upper := chain(pts)
	return append(lower[:len(lower)-1], upper[:len(upper)-1]...)
}

// onPrint clips a convex outline to a print and a margin about it (Sutherland and Hodgman
// 1974), since the rasteriser has a limited range.
func onPrint(outline []point, w, h, margin float64) []point {
	for _, edge := range [][3]float64{{1, 0, margin}, {-1, 0, w + margin}, {0, 1, margin}, {0, -1, h + margin}} {
		inside := func(p point) float64 { return edge[0]*p.X + edge[1]*p.Y + edge[2] }
		var out []point
		for i, a := range outline {
			b := outline[(i+1)%len(outline)]
			da, db := inside(a), inside(b)
			if da >= 0 {
				out = append(out, a)
			}
			if da >= 0 != (db >= 0) {
				s := da / (da - db)
				out = append(out, point{a.X + s*(b.X-a.X), a.Y + s*(b.Y-a.Y)})
			}
		}
		outline = out
	}
	return outline
}

// covers draws each cover: opaque paper with hatching.
func (s *sheet) covers(covers []Cover, v view) {
	t := s.T
	for _, c := range covers {
		out := onPrint(c.outline(v), s.W, s.H, t)
		if len(out) < 3 {
			continue
		}
		s.Fill(draw.Paper, out)
		for _, l := range strokesIn(out, s.W, s.H, 0.62*t) {
			s.Line(draw.Pen{Colour: pencil, Width: 0.045 * t}, l[0], l[1])
		}
		s.Outline(draw.Pen{Colour: draw.Faint, Width: 0.05 * t}, out)
	}
}

// strokesIn returns the hatching within a convex outline on a drawing of w by h. The
// strokes fall to the right, unlike those of bands.
func strokesIn(outline []point, w, h, spacing float64) [][2]point {
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, p := range outline {
		b = box{min(b.X0, p.X), min(b.Y0, p.Y), max(b.X1, p.X), max(b.Y1, p.Y)}
	}
	b = box{max(b.X0, 0), max(b.Y0, 0), min(b.X1, w), min(b.Y1, h)}
	if b.X0 >= b.X1 || b.Y0 >= b.Y1 {
		return nil
	}
	var out [][2]point
	high := draw.High(b)
	for x := b.X0 - high; x < b.X1; x += spacing * math.Sqrt2 {
		from, to := clipConvex([2]point{{x, b.Y0}, {x + high, b.Y1}}, outline)
		if to > from {
			at := func(s float64) point { return point{x + s*high, b.Y0 + s*high} }
			out = append(out, [2]point{at(from), at(to)})
		}
	}
	return out
}

// clipConvex returns the part of a line within a convex outline, as fractions of the line's
// length; it is empty if from is above to. The inside of the outline is on its right as seen
// (y down).
func clipConvex(l [2]point, outline []point) (from, to float64) {
	from, to = 0, 1
	d := draw.Sub(l[1], l[0])
	for i, a := range outline {
		e := draw.Sub(outline[(i+1)%len(outline)], a)
		p := draw.Sub(l[0], a)
		// inside is where the cross product is not negative
		at, slope := e.X*p.Y-e.Y*p.X, e.X*d.Y-e.Y*d.X
		switch {
		case slope > 0:
			from = max(from, -at/slope)
		case slope < 0:
			to = min(to, -at/slope)
		case at < 0:
			return 1, 0
		}
	}
	return from, to
}

// pencil is the colour of a cover's hatching.
var pencil = draw.Thin(draw.Faint, 0.45)
