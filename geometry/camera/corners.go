package camera

import (
	"fmt"
	"math"

	"ecart/geometry"
)

// CornerError says why four corners do not define a plane.
type CornerError struct{ fact, hint string }

func (e *CornerError) Error() string { return e.fact }

// Hint says what to do.
func (e *CornerError) Hint() string { return e.hint }

// edgeOn is the largest tilt at which a rectangle is accepted: at 75 degrees an error of
// one pixel in the picture is four pixels in the plane (1/cos 75 = 3.9).
const edgeOn = 75 * geometry.Degree

// CheckCorners checks four pixels as the corners (top left, top right, bottom right,
// bottom left) of a rectangle of the given size in metres. It returns a *CornerError
// for an impossible size, corners in the wrong order, three corners in a line or a
// rectangle seen edge-on.
func CheckCorners(corners [4]geometry.Point, widthM, heightM float64) error {
	const order = "mark top left, top right, bottom right, bottom left, as the rectangle stands in the hall"
	if !(widthM > 0.05 && widthM < 100 && heightM > 0.05 && heightM < 100) {
		return &CornerError{fmt.Sprintf("a rectangle of %g by %g m cannot be used", widthM, heightM), "give width_m and height_m in metres, 0.05 to 100"}
	}
	names := [4]string{"top left", "top right", "bottom right", "bottom left"}
	var turns [4]float64
	positive := 0
	for i, c := range corners {
		if math.IsNaN(c.X-c.X) || math.IsNaN(c.Y-c.Y) {
			return &CornerError{fmt.Sprintf("the %s corner has no position", names[i]), "give x and y in pixels"}
		}
		a, b := c.Sub(corners[(i+3)%4]), corners[(i+1)%4].Sub(c)
		if a.Norm() < 1 || b.Norm() < 1 {
			return &CornerError{fmt.Sprintf("the %s corner is on the same spot as the corner beside it", names[i]), order}
		}
		turns[i] = a.Cross(b) / a.Norm() / b.Norm() // sine of the turn; y down, so positive is clockwise
		if turns[i] > 0 {
			positive++
		}
	}
	const straight = 0.02 // sine: a turn under about a degree
	for i, s := range turns {
		if math.Abs(s) < straight {
			return &CornerError{fmt.Sprintf("three corners lie in a line at the %s one", names[i]), "mark the four corners of one rectangle"}
		}
	}
	switch positive {
	case 0:
		return &CornerError{"the corners run the wrong way round", order}
	case 1, 3:
		return &CornerError{"the corners make a dent and not a rectangle", order}
	case 2:
		return &CornerError{"the corners are in the wrong order: two sides cross", order}
	}
	if top := corners[1].Sub(corners[0]); top.X <= math.Abs(top.Y) {
		return &CornerError{"the first corner is not the top left one: the side to the second does not run to the right", order}
	}
	p := NewPlane(corners, widthM, heightM)
	if t := p.Tilt(); !(t < edgeOn) {
		return &CornerError{fmt.Sprintf("the rectangle is seen nearly edge-on, %.0f degrees from square, or its size is not %g by %g m", t.Degrees(), widthM, heightM), "check the size, or mark a rectangle that faces the camera"}
	}
	return nil
}
