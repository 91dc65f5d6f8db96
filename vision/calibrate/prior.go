package calibrate

import "math"

// What is known of a lens before any picture: standard deviations, each normal
// about the middle named. They are wide. Where the pictures say more, which is
// nearly always, they do not matter; where the pictures say nothing (a board
// that never came near the picture's corners cannot tell k3), the estimate stays
// at what lenses have, with an uncertainty that says so, in place of a term bent
// to the noise.
//
// All are common practice without a source, set from lenses seen: phones after
// their own correction bend the corner of the picture by up to a hundredth, raw
// wide lenses of action cameras by a third.
const (
	// The radial terms' share in how far a corner of the picture is moved: each
	// further term of the series is expected to be smaller than the one before.
	priorK1 = 0.30
	priorK2 = 0.15
	priorK3 = 0.05

	// The same for p1 and p2, lens elements off the axis: a hundredth or two.
	priorTangential = 0.02

	// The principal point is about the middle of the picture: as a share of the
	// longer side. A clip is cut from the middle of the sensor, and stabilising
	// moves it by a few hundredths.
	priorCentre = 0.05

	// fx / fy is about 1: pixels are square, those of a take always so.
	priorSquare = 0.01
)

// prior is the inverse covariance of what all pictures share, and its middle.
type prior struct {
	weight [shared][shared]float64
	middle [shared]float64
}

// newPrior is the prior for pictures of the given size and a focal length that
// is roughly right.
func newPrior(width, height int, focal float64) prior {
	var p prior
	w, h := float64(width), float64(height)
	p.middle[cx], p.middle[cy] = (w-1)/2, (h-1)/2
	corner2 := (w*w + h*h) / 4 / (focal * focal) // tangent squared
	set := func(i int, sd float64) { p.weight[i][i] = 1 / (sd * sd) }
	set(cx, priorCentre*max(w, h))
	set(cy, priorCentre*max(w, h))
	set(k1, priorK1/corner2)
	set(k2, priorK2/(corner2*corner2))
	set(k3, priorK3/(corner2*corner2*corner2))
	tangential := priorTangential / (3 * math.Sqrt(corner2)) // x' - x is at most 3 p2 r2
	set(p1, tangential)
	set(p2, tangential)
	// of the difference of the focal lengths only
	e := 1 / (priorSquare * focal * priorSquare * focal)
	p.weight[fx][fx], p.weight[fy][fy] = e, e
	p.weight[fx][fy], p.weight[fy][fx] = -e, -e
	for k, sd := range [shapes]float64{priorBow, priorBow, priorBow, priorStretch, priorSkew} {
		set(parameters+k, sd)
	}
	return p
}

// deviation is the prior's own standard deviation of a parameter; infinite for
// the focal lengths, of which it knows nothing but that they are alike.
func (p *prior) deviation(i int) float64 {
	if i == fx || i == fy {
		return math.Inf(1)
	}
	return 1 / math.Sqrt(p.weight[i][i])
}
