package calibrate

import (
	"fmt"
	"math"
	"strings"
)

// Paper is a paper size in portrait format.
type Paper struct {
	Name              string
	WidthMm, HeightMm float64
}

// papers lists sizes of ISO 216 and ANSI/ASME Y14.1.
var papers = []Paper{{"a4", 210, 297}, {"letter", 215.9, 279.4}, {"a3", 297, 420}}

// ParsePaper finds a paper by its name. The error has a Hint.
func ParsePaper(name string) (Paper, error) {
	var names []string
	for _, p := range papers {
		if strings.EqualFold(p.Name, name) {
			return p, nil
		}
		names = append(names, p.Name)
	}
	return Paper{}, newError("give "+strings.Join(names[:len(names)-1], ", ")+" or "+names[len(names)-1], "there is no paper %q here", name)
}

// Margins around the board, mm: white space that the finder needs and printers cannot
// print, and room for the check lines and the text.
const (
	marginTop    = 8.0
	marginRight  = 10.0
	marginLeft   = 15.0
	marginBottom = 21.0
)

// minSquare is the smallest square that is worth printing, mm.
const minSquare = 4.0

// checkMm is the length of the check lines, mm.
const checkMm = 100.0

// Print is a board laid out on a sheet of paper, in millimetres from its top
// left corner, x right and y down.
type Print struct {
	Board             Board // with the side of its squares
	WidthMm, HeightMm float64
	left, top         float64 // of the squares
	strokes           []stroke
	labels            []label
}

// stroke is a thin line.
type stroke struct{ x0, y0, x1, y1 float64 }

// label is a line of text with its base line at y, beginning at x.
type label struct {
	x, y, size float64
	text       string
}

const strokeMm = 0.2

// NewPrint lays a board out on a paper, in the format in which it can be larger. If the
// side of a square is unknown, it is the largest that fits, in whole millimetres. The
// error for a board that does not fit names the largest square that does.
func NewPrint(b Board, p Paper) (*Print, error) {
	if err := b.check(); err != nil {
		return nil, err
	}
	across, down := float64(b.Columns+1), float64(b.Rows+1) // squares
	largest := func(w, h float64) float64 {
		return math.Min((w-marginLeft-marginRight)/across, (h-marginTop-marginBottom)/down)
	}
	w, h := p.WidthMm, p.HeightMm
	if largest(h, w) > largest(w, h) {
		w, h = h, w
	}
	most := math.Floor(10*largest(w, h)+1e-9) / 10
	if most < minSquare {
		return nil, newError("take a board of fewer corners, or a larger paper", "a board of %s does not fit on %s: its squares would have %.1f mm", b, p.Name, math.Max(0, most))
	}
	if b.SquareMm == 0 {
		b.SquareMm = math.Floor(most)
	}
	if b.SquareMm > most {
		return nil, newError(fmt.Sprintf("the largest square that fits is %.4gmm; or take a larger paper", most),
			"a board of %s with squares of %.4g mm does not fit on %s", b, b.SquareMm, p.Name)
	}
	if b.SquareMm < minSquare {
		return nil, newError(fmt.Sprintf("give from %gmm to %.4gmm", minSquare, most), "squares of %.4g mm are too small to be found in a picture", b.SquareMm)
	}
	out := &Print{Board: b, WidthMm: w, HeightMm: h}
	out.left = math.Max(marginLeft, (w-across*b.SquareMm)/2)
	out.left = math.Min(out.left, w-marginRight-across*b.SquareMm)
	out.top = marginTop + (h-marginTop-marginBottom-down*b.SquareMm)/2
	out.addCheckLines()
	return out, nil
}

// addCheckLines adds the two check lines and the text.
func (p *Print) addCheckLines() {
	const (
		in   = 7.5 // from the edge of the paper
		tick = 1.5 // to either side
		text = 3.0
	)
	y := p.HeightMm - marginBottom + 7
	p.strokes = append(p.strokes,
		stroke{marginLeft, y, marginLeft + checkMm, y}, stroke{marginLeft, y - tick, marginLeft, y + tick}, stroke{marginLeft + checkMm, y - tick, marginLeft + checkMm, y + tick})
	top := (p.HeightMm - marginBottom - checkMm) / 2
	p.strokes = append(p.strokes,
		stroke{in, top, in, top + checkMm}, stroke{in - tick, top, in + tick, top}, stroke{in - tick, top + checkMm, in + tick, top + checkMm})
	p.labels = []label{
		{marginLeft + checkMm + 3, y + 1, text, "this line is 100 mm long: measure it, and the one at the left"},
		{marginLeft, y + 5.5, text, fmt.Sprintf("board of %s inner corners, squares of %.4g mm; print at 100 %%, not fitted to the page", p.Board, p.Board.SquareMm)},
		{marginLeft, y + 9.5, text, "stick it on something flat and stiff"},
	}
}

// square reports whether the square at a column and a row is black. The top left one is.
func square(col, row int) bool { return (col+row)%2 == 0 }
