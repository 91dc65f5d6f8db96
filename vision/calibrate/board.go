package calibrate

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"ecart/geometry"
	"ecart/vision/see"
)

// Board is a checkerboard, described by its number of inner corners: a board of
// 9 x 6 has 10 x 7 squares.
type Board struct {
	Columns, Rows int     // inner corners
	SquareMm      float64 // side of a square, mm; 0 is unknown, and a lens can be estimated without it
}

// ParseBoard reads a board's inner corners, such as 9x6. The error has a Hint.
func ParseBoard(s string) (Board, error) {
	bad := newError("count the corners where four squares meet, and write columns by rows, such as 9x6 for a board of 10 by 7 squares",
		"%q is no board", s)
	text := strings.NewReplacer("×", "x", "X", "x", "*", "x", " ", "").Replace(s)
	across, down, ok := strings.Cut(text, "x")
	if !ok {
		return Board{}, bad
	}
	c, errC := strconv.Atoi(across)
	r, errR := strconv.Atoi(down)
	if errC != nil || errR != nil {
		return Board{}, bad
	}
	b := Board{Columns: c, Rows: r}
	return b, b.check()
}

func (b Board) check() error {
	if min(b.Columns, b.Rows) < see.LeastCorners || max(b.Columns, b.Rows) > see.MostCorners {
		return newError(fmt.Sprintf("use a board of %d to %d inner corners each way, such as 9x6", see.LeastCorners, see.MostCorners),
			"a board of %s inner corners cannot be used", b)
	}
	if !(b.SquareMm >= 0) || math.IsInf(b.SquareMm, 1) {
		return newError("give the side of a square in millimetres", "a square of %g mm cannot be used", b.SquareMm)
	}
	return nil
}

// String returns the number of inner corners in the form 9x6.
func (b Board) String() string { return fmt.Sprintf("%dx%d", b.Columns, b.Rows) }

// corners returns the inner corners in units of squares, row by row from the top
// left one, x right, y down.
func (b Board) corners() []geometry.Point {
	out := make([]geometry.Point, 0, b.Columns*b.Rows)
	for r := range b.Rows {
		for c := range b.Columns {
			out = append(out, geometry.Point{X: float64(c), Y: float64(r)})
		}
	}
	return out
}
