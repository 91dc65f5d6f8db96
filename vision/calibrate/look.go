package calibrate

import (
	"context"
	"errors"
	"image"
	"math"
	"slices"

	"ecart/geometry"
	"ecart/vision/see"
)

// Picture is the board found in one picture.
type Picture struct {
	Name          string
	Width, Height int              // px
	Corners       []geometry.Point // inner corners as from [Find], px; nil if not found
	EdgePx        float64          // width of the edges of its squares, 10 to 90 % of the step, px; NaN unknown
	Stopped       bool             // ecart-see ended while it searched: whether there is a board is unknown
}

// Look finds a board in a picture and measures its sharpness. If the child program ends
// while it searches, the picture has no corners and is marked Stopped. The error is
// an *Error for a board that cannot be used, a *see.Missing, or the context's.
func Look(ctx context.Context, child *see.Child, name string, img image.Image, b Board) (Picture, error) {
	return look(name, img, b, func(g *grey) ([]geometry.Point, error) { return find(ctx, child, g, b) })
}

// Glance is Look for one of many frames. It gives up sooner if it finds no board.
func Glance(ctx context.Context, child *see.Child, name string, img image.Image, b Board) (Picture, error) {
	return look(name, img, b, func(g *grey) ([]geometry.Point, error) {
		return findAt(ctx, child, g, b, searchSide, false)
	})
}

func look(name string, img image.Image, b Board, find func(*grey) ([]geometry.Point, error)) (Picture, error) {
	p := Picture{Name: name, Width: img.Bounds().Dx(), Height: img.Bounds().Dy(), EdgePx: math.NaN()}
	if err := b.check(); err != nil {
		return p, err
	}
	g := toGrey(img)
	var err error
	p.Corners, err = find(g)
	if errors.Is(err, see.ErrStopped) {
		p.Stopped = true
		return p, nil
	}
	if p.Corners != nil {
		p.EdgePx = g.edges(b, p.Corners)
	}
	return p, err
}

// edges returns the median width of the edges between squares, px, along the rows or the
// columns, whichever is larger: motion blurs a picture along the motion.
func (g *grey) edges(b Board, corners []geometry.Point) float64 {
	var across, down []float64
	for i, p := range corners {
		c, r := i%b.Columns, i/b.Columns
		reach := 0.4 * b.spacing(corners, i) // stays within the two squares beside the edge
		if c < b.Columns-1 {
			down = append(down, g.edge(p, corners[i+1], reach))
		}
		if r < b.Rows-1 {
			across = append(across, g.edge(p, corners[i+b.Columns], reach))
		}
	}
	return math.Max(median(across), median(down))
}

// edge returns the width of the edge between two corners at its middle, from 10 to 90 %
// of the step, px; NaN if there is no step. For a step F from 0 to 1 that is blurred by
// a normal distribution,
//
//	integral F (1 - F) dx = sigma / sqrt(pi)
//
// and 10 to 90 % is 2.563 sigma.
func (g *grey) edge(a, b geometry.Point, reach float64) float64 {
	const (
		step = 0.25 // px
		ends = 0.2  // share of the profile at either end that is black or white
		flat = 20   // grey levels: a smaller step is no edge
	)
	n := int(reach / step)
	normal := b.Sub(a).Unit().Perp()
	middle := a.Mid(b)
	values := make([]float64, 0, 2*n+1)
	for i := -n; i <= n; i++ {
		values = append(values, g.at(middle.Add(normal.Scale(float64(i)*step))))
	}
	few := max(1, int(ends*float64(n)))
	if len(values) < 2*few+1 {
		return math.NaN()
	}
	low, high := mean(values[:few]), mean(values[len(values)-few:])
	if !(math.Abs(high-low) >= flat) {
		return math.NaN()
	}
	sum := 0.0
	for _, v := range values {
		f := (v - low) / (high - low)
		sum += f * (1 - f) * step
	}
	return 2.563 * math.Sqrt(math.Pi) * math.Max(0, sum)
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

// median ignores NaN. It is NaN if there are no other values.
func median(v []float64) float64 {
	var s []float64
	for _, x := range v {
		if !math.IsNaN(x) {
			s = append(s, x)
		}
	}
	if len(s) == 0 {
		return math.NaN()
	}
	slices.Sort(s)
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}
