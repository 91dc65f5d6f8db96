package av

import "image"

// Orientation says how a stored picture is put upright, numbered as in EXIF (CIPA DC-008, tag 274):
//
//	1  unchanged                      5  mirrored along the main diagonal
//	2  mirrored left to right         6  turned clockwise by 90 degrees
//	3  turned by 180 degrees          7  mirrored along the other diagonal
//	4  mirrored top to bottom         8  turned anticlockwise by 90 degrees
//
// Any other value counts as 1.
type Orientation int

func (o Orientation) swaps() bool { return o >= 5 && o <= 8 }

// FromMatrix reads a display matrix (ISO/IEC 14496-12 8.3.2). With its first two columns a b,
// c d, tx ty from top to bottom, the stored point (p, q) is shown at
//
//	x = a p + c q + tx
//	y = b p + d q + ty
//
// exact is false if the matrix turns by an angle that is not a multiple of 90 degrees, shears, or has
// no area. The nearest orientation is then returned.
func FromMatrix(m [9]int32) (o Orientation, exact bool) {
	a, b, c, d := float64(m[0]), float64(m[1]), float64(m[3]), float64(m[4])
	abs := func(v float64) float64 { return max(v, -v) }
	swapped := abs(b)+abs(c) > abs(a)+abs(d)
	diagonal, rest := min(abs(a), abs(d)), max(abs(b), abs(c))
	x, y := a < 0, d < 0 // x (y) runs against the stored column (row)
	if swapped {
		diagonal, rest = min(abs(b), abs(c)), max(abs(a), abs(d))
		x, y = c < 0, b < 0
	}
	exact = diagonal > 0 && rest < 0.01*diagonal
	switch {
	case !swapped && !x && !y:
		o = 1
	case !swapped && x && !y:
		o = 2
	case !swapped && x && y:
		o = 3
	case !swapped:
		o = 4
	case !x && !y:
		o = 5
	case x && !y:
		o = 6
	case x && y:
		o = 7
	default:
		o = 8
	}
	return o, exact
}

// mirrored reports whether upright x (y) runs against the stored axis that it lies along.
func (o Orientation) mirrored() (x, y bool) {
	switch o {
	case 2, 6:
		return true, false
	case 3, 7:
		return true, true
	case 4, 8:
		return false, true
	}
	return false, false
}

// stored maps the upright rectangle r to the stored picture of w by h. An output of the size of
// r with the given stride receives stored pixel (s.Min.X+i, s.Min.Y+j) at byte
// first + i*right + j*down.
func (o Orientation) stored(r image.Rectangle, w, h, stride int) (s image.Rectangle, first, right, down int) {
	mx, my := o.mirrored()
	uw, uh := w, h
	if o.swaps() {
		uw, uh = h, w
	}
	x0, x1, y0, y1 := r.Min.X, r.Max.X, r.Min.Y, r.Max.Y
	stepX, stepY := 4, stride // from one upright pixel to the next
	if mx {
		x0, x1 = uw-x1, uw-x0
		first += (r.Dx() - 1) * stepX
		stepX = -stepX
	}
	if my {
		y0, y1 = uh-y1, uh-y0
		first += (r.Dy() - 1) * stepY
		stepY = -stepY
	}
	if o.swaps() {
		return image.Rect(y0, x0, y1, x1), first, stepY, stepX
	}
	return image.Rect(x0, y0, x1, y1), first, stepX, stepY
}
