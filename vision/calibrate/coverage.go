package calibrate

import (
	"math"

	"ecart/geometry"
)

// Coverage is the number of corners found, over all pictures, in each cell of a grid over
// the picture.
type Coverage struct {
	Columns, Rows int
	Counts        []int   // row by row from the top left cell
	Share         float64 // share of cells with at least one corner
	Missing       []Part  // parts of the picture's edge with fewer than edgeCorners corners
}

// Part is a part of the picture's edge.
type Part struct {
	Name string // "top left", "top", ...
	// BendStandard is Result.BendStandard at the middle of the part, px.
	BendStandard float64
}

// coverageCells is the number of cells along the longer side. Cells are about square.
const coverageCells = 12

// edgeShare is the width of the parts along the picture's edge that a board should
// reach, as a share of the side. Corners cannot come nearer to the edge than a square.
const edgeShare = 0.22

// edgeCorners is the smallest number of corners in a part that counts as covered.
const edgeCorners = 6

func (r *Result) cover() Coverage {
	width, height := r.Lens.Width, r.Lens.Height
	long := max(width, height)
	c := Coverage{Columns: max(1, (coverageCells*width+long/2)/long), Rows: max(1, (coverageCells*height+long/2)/long)}
	c.Counts = make([]int, c.Columns*c.Rows)
	parts := map[string]int{}
	for _, v := range r.used() {
		for _, p := range v.Corners {
			x, y := (p.X+0.5)/float64(width), (p.Y+0.5)/float64(height)
			col := min(max(int(x*float64(c.Columns)), 0), c.Columns-1)
			row := min(max(int(y*float64(c.Rows)), 0), c.Rows-1)
			c.Counts[row*c.Columns+col]++
			parts[partOf(geometry.Point{X: x, Y: y})]++
		}
	}
	some := 0
	for _, n := range c.Counts {
		if n > 0 {
			some++
		}
	}
	c.Share = float64(some) / float64(len(c.Counts))
	const low, mid, high = edgeShare / 2, 0.5, 1 - edgeShare/2
	for _, at := range []geometry.Point{{X: low, Y: low}, {X: mid, Y: low}, {X: high, Y: low}, {X: high, Y: mid}, {X: high, Y: high}, {X: mid, Y: high}, {X: low, Y: high}, {X: low, Y: mid}} {
		if name := partOf(at); parts[name] < edgeCorners {
			px := geometry.Point{X: at.X*float64(width) - 0.5, Y: at.Y*float64(height) - 0.5}
			c.Missing = append(c.Missing, Part{name, r.BendStandard(px)})
		}
	}
	return c
}

// partOf returns the name of the part of the picture that contains a point, "" for the
// middle. Coordinates are from 0 to 1.
func partOf(p geometry.Point) string {
	side := func(v float64, low, high string) string {
		switch {
		case v < edgeShare:
			return low
		case v > 1-edgeShare:
			return high
		}
		return ""
	}
	row, col := side(p.Y, "top", "bottom"), side(p.X, "left", "right")
	if row != "" && col != "" {
		return row + " " + col
	}
	return row + col
}

// BendStandard returns the standard uncertainty of the lens's distortion at a pixel, px:
// that of the undistorted position, for a fixed focal length and principal point. It is
// infinite if the estimated lens has no ray for that pixel.
func (r *Result) BendStandard(px geometry.Point) float64 {
	d, err := r.Lens.Differentiate(px)
	if err != nil {
		return math.Inf(1)
	}
	sum := 0.0
	for i := k1; i < parameters; i++ {
		for k := k1; k < parameters; k++ {
			sum += d.Parameters[i].Dot(d.Parameters[k]) * r.Lens.Covariance.At(i, k)
		}
	}
	return math.Sqrt(math.Max(0, sum))
}
