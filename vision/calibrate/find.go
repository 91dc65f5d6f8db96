package calibrate

import (
	"context"
	"image"
	"math"
	"slices"

	"ecart/geometry"
	"ecart/vision/see"
)

// Sizes to which a picture is scaled down for the search. The finder's time grows with
// the number of pixels, and a board is usually found in a small picture. If it is not, it
// may be far away, and twice the size is tried.
const (
	searchSide = 1000 // px, the longer side
	largerSide = 2000
)

// Find returns a board's inner corners in pixels, to a fraction of a pixel. The centre of
// the top left pixel is (0, 0). Corners are row by row, with x right and y down on the
// board as seen in the picture. It returns nil if the board is not found completely. The
// error is an *Error for a board that cannot be used, one of package see if the child
// program does not answer, or that of the context.
func Find(ctx context.Context, child *see.Child, img image.Image, b Board) ([]geometry.Point, error) {
	if err := b.check(); err != nil {
		return nil, err
	}
	return find(ctx, child, toGrey(img), b)
}

func find(ctx context.Context, child *see.Child, g *grey, b Board) ([]geometry.Point, error) {
	for _, try := range []struct {
		side     int
		thorough bool
	}{{searchSide, false}, {searchSide, true}, {largerSide, true}} {
		if try.side > searchSide && max(g.w, g.h) <= searchSide {
			continue // would search the same picture again
		}
		corners, err := findAt(ctx, child, g, b, try.side, try.thorough)
		if corners != nil || err != nil {
			return corners, err
		}
	}
	return nil, nil
}

// findAt searches the picture, scaled down so that its longer side is at most side, px.
func findAt(ctx context.Context, child *see.Child, g *grey, b Board, side int, thorough bool) ([]geometry.Point, error) {
	if min(g.w, g.h) < 1 {
		return nil, nil
	}
	a, err := child.Ask(ctx, &see.Question{Width: g.w, Height: g.h, Columns: b.Columns, Rows: b.Rows, Side: side, Thorough: thorough, Grey: g.pix})
	if err != nil {
		return nil, err
	}
	if a.Error != "" || len(a.Corners) != 0 && len(a.Corners) != b.Columns*b.Rows {
		return nil, see.ErrStopped // a child of another version
	}
	if len(a.Corners) == 0 {
		return nil, nil
	}
	corners := make([]geometry.Point, len(a.Corners))
	for i, p := range a.Corners {
		corners[i] = geometry.Point{X: p[0], Y: p[1]}
	}
	corners = upright(b, corners)
	if !plausible(b, corners) {
		return nil, nil
	}
	return corners, nil
}

// spacing returns the distance from corner i to its nearest neighbour, px.
func (b Board) spacing(corners []geometry.Point, i int) float64 {
	c, r := i%b.Columns, i/b.Columns
	near := math.Inf(1)
	for _, n := range [4]struct {
		exists bool
		at     int
	}{{c > 0, i - 1}, {c < b.Columns-1, i + 1}, {r > 0, i - b.Columns}, {r < b.Rows-1, i + b.Columns}} {
		if n.exists {
			near = math.Min(near, corners[n.at].Sub(corners[i]).Norm())
		}
	}
	return near
}

// upright reorders corners so that rows run to the right in the picture and the order
// is not mirrored. The finders may begin at any end of the board.
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

// plausible reports whether the corners agree with a homography of a board, except for
// what a lens may distort.
func plausible(b Board, corners []geometry.Point) bool {
	const bent = 0.25 // squares: the distortion by a strong lens of a board that fills the picture
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
