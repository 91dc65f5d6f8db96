package calibrate

import (
	"ecart/geometry"
	"ecart/geometry/camera"
)

// Result is a lens estimated from pictures of a board, and what they were worth.
type Result struct {
	Board Board
	// Lens is for pictures of the size of those given. Its covariance is of all
	// nine parameters together, the poses of the board allowed for, its shape too.
	Lens *camera.Lens
	// ResidualPx is the root mean square distance of the corners from where the
	// lens and the poses put them, over the pictures used.
	ResidualPx float64
	// CornerPx is the standard deviation of a corner, right and down each.
	CornerPx float64
	// Disagreement is how much further the pictures differ from each other than
	// their corners' scatter would let them: 1 on average where corners err
	// alone. Where it is more, the covariance has been widened by its square.
	Disagreement float64

	Parameters []Parameter // fx, fy, cx, cy, k1, k2, p1, p2, k3
	Sheet      Sheet
	Pictures   []View // as given
	Coverage   Coverage
	Advice     []string // for the pictures as a whole; none where they are good
}

// Parameter is one of a lens's nine.
type Parameter struct {
	Name     string
	Unit     string // "px" or ""
	Value    float64
	Standard float64 // standard uncertainty
	// Told is false where the pictures do not tell the parameter: it stands near
	// what lenses have, with the uncertainty of that.
	Told bool
}

// Sheet is how the board that was held up differs from a perfect one.
type Sheet struct {
	// Bow is how far the ends of the board's longer side are off its plane, as a
	// share of half that side, and its standard uncertainty.
	Bow, BowStandard float64
	// Stretch is how much longer the board is one way than the other, as a
	// share, and its standard uncertainty.
	Stretch, StretchStandard float64
}

// View is one picture in the fit.
type View struct {
	Picture
	Used       bool
	ResidualPx float64        // root mean square distance of its corners; NaN where it is not known
	Tilt       geometry.Angle // from parallel to the sensor; NaN where it is not known
	Distance   float64        // from the camera to the board's middle, in squares; NaN where it is not known
	Retake     string         // why the picture should be taken again; "" where it is good
}

// Count is how many pictures the lens was estimated from.
func (r *Result) Count() int { return len(r.used()) }
