package calibrate

import (
	"image"
	"math"
	"slices"

	"ecart/geometry"
)

// How large a picture is when it is searched: the finder's time grows with the
// pixels, and a board is as easily seen in a small picture. Where it is not
// found there, it may be far off, and twice the size is tried.
const (
	searchSide = 1000 // px, the longer side
	largerSide = 2000
)

// How far around a corner its grey values count: a share of the distance to the
// nearest corner, so that no other corner comes in, and no further than gives
// anything.
const (
	windowShare = 0.3
	windowLeast = 2 // px
	windowMost  = 15
)

// Find returns a board's inner corners in pixels, the centre of the top left
// pixel being (0, 0): row by row, x right and y down on the board as it is seen,
// each to a fraction of a pixel. It returns nil where the board is not found as
// a whole. The error is an *Error for a board that cannot be used.
func Find(img image.Image, b Board) ([]geometry.Point, error) {
	if err := b.check(); err != nil {
		return nil, err
	}
	return find(toGrey(img), b)
}

func find(g *grey, b Board) ([]geometry.Point, error) {
	for _, try := range []struct {
		side    int
		sectors bool
	}{{searchSide, false}, {searchSide, true}, {largerSide, true}} {
		if try.side > searchSide && max(g.w, g.h) <= searchSide {
			continue // the same picture again
		}
		corners, err := findAt(g, b, try.side, try.sectors)
		if corners != nil || err != nil {
			return corners, err
		}
	}
	return nil, nil
}

// findAt searches the picture with its longer side made no longer than side,
// and refines what it finds in the whole one.
func findAt(g *grey, b Board, side int, sectors bool) ([]geometry.Point, error) {
	const tiny = 40 // px; a board is not seen in less, and OpenCV's finder stumbles over it
	if min(g.w, g.h) < tiny {
		return nil, nil
	}
	small, sx, sy := g, 1.0, 1.0
	if long := max(g.w, g.h); long > side {
		w, h := max(tiny, g.w*side/long), max(tiny, g.h*side/long)
		var err error
		if small, err = shrink(g, w, h); err != nil {
			return nil, err
		}
		sx, sy = float64(g.w)/float64(w), float64(g.h)/float64(h)
	}
	corners, err := findBoard(small, b, sectors)
	if corners == nil || err != nil {
		return nil, err
	}
	if small != g {
		if corners, err = refine(small, b, corners); err != nil {
			return nil, err
		}
		for i, p := range corners { // (0, 0) is the middle of a pixel
			corners[i] = geometry.Point{X: (p.X+0.5)*sx - 0.5, Y: (p.Y+0.5)*sy - 0.5}
		}
	}
	if corners, err = refine(g, b, corners); err != nil {
		return nil, err
	}
	corners = upright(b, corners)
	if !plausible(b, corners) {
		return nil, nil
	}
	return corners, nil
}

// refine moves each corner to the saddle of the grey values around it.
func refine(g *grey, b Board, corners []geometry.Point) ([]geometry.Point, error) {
	out := make([]geometry.Point, len(corners))
	for i, p := range corners {
		half := int(math.Round(windowShare * b.spacing(corners, i)))
		var err error
		if out[i], err = saddle(g, p, min(max(half, windowLeast), windowMost)); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// spacing is the distance from a corner to the nearest one beside it.
func (b Board) spacing(corners []geometry.Point, i int) float64 {
	c, r := i%b.Columns, i/b.Columns
	near := math.Inf(1)
	for _, n := range [4]struct {
		is bool
		at int
	}{{c > 0, i - 1}, {c < b.Columns-1, i + 1}, {r > 0, i - b.Columns}, {r < b.Rows-1, i + b.Columns}} {
		if n.is {
			near = math.Min(near, corners[n.at].Sub(corners[i]).Norm())
		}
	}
	return near
}

// upright orders corners so that columns run to the right as seen and rows
// turn down from them: the finders may begin at any end of the board.
func upright(b Board, corners []geometry.Point) []geometry.Point {
	last := len(corners) - 1
	across := corners[b.Columns-1].Sub(corners[0])
	down := corners[last-b.Columns+1].Sub(corners[0])
	if across.Cross(down) < 0 {
		for r := 0; r < len(corners); r += b.Columns {
			slices.Reverse(corners[r : r+b.Columns])
		}
		across = corners[b.Columns-1].Sub(corners[0])
	}
	if across.X < 0 {
		slices.Reverse(corners)
	}
	return corners
}

// plausible says whether the corners lie as those of a board may: as a plane's
// pattern, but for what a lens bends.
func plausible(b Board, corners []geometry.Point) bool {
	const bent = 0.25 // of a square: what a strong lens does to a board that fills the picture
	h, ok := homography(b.corners(), corners)
	if !ok {
		return false
	}
	for i, p := range b.corners() {
		if !(h.apply(p).Sub(corners[i]).Norm() < bent*b.spacing(corners, i)) {
			return false
		}
	}
	return true
}
