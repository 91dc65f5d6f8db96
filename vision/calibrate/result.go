package calibrate

import (
	"ecart/geometry"
	"ecart/geometry/camera"
)

// Result is a lens estimated from pictures of a board, with an assessment of the pictures.
type Result struct {
	Board Board
	// Lens is for pictures of the size of those given. Its covariance is of all nine
	// parameters and includes the uncertainty of the board's poses and shape.
	Lens *camera.Lens
	// ResidualPx is the root mean square distance between the corners found and those
	// predicted by the fit, over the pictures used.
	ResidualPx float64
	// CornerPx is the standard deviation of a corner in each axis.
	CornerPx float64
	// Disagreement is the ratio of the differences between pictures to those expected
	// from the scatter of corners: 1 on average if corner errors are independent. If it
	// is more, the covariance has been multiplied by its square.
	Disagreement float64

	Parameters []Parameter // fx, fy, cx, cy, k1, k2, p1, p2, k3
	Sheet      Sheet
	Pictures   []View // as given
	Coverage   Coverage
	Advice     []string // on the pictures as a whole; empty if they are good
}

// Parameter is one of the nine parameters of a lens.
type Parameter struct {
	Name     string
	Unit     string // "px" or ""
	Value    float64
	Standard float64 // standard uncertainty
	// Told is false if the pictures do not determine the parameter: its value and
	// uncertainty are then mostly those of the prior.
	Told bool
}

// Sheet describes how the printed board differs from a perfect one.
type Sheet struct {
	// Bow is the distance of the ends of the board's longer side from its plane, as a
	// share of half that side, with its standard uncertainty.
	Bow, BowStandard float64
	// Stretch is the relative difference of scale between the two directions of the
	// board, with its standard uncertainty.
	Stretch, StretchStandard float64
}

// View is one picture in the fit.
type View struct {
	Picture
	Used       bool
	ResidualPx float64        // root mean square distance of its corners; NaN unknown
	Tilt       geometry.Angle // from parallel to the sensor; NaN unknown
	Distance   float64        // from the camera to the board's middle, in squares; NaN unknown
	Retake     string         // why the picture should be taken again; "" if it is good
}

// Count returns the number of pictures from which the lens was estimated.
func (r *Result) Count() int { return len(r.used()) }
