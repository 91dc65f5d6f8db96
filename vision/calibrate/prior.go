package calibrate

import "math"

// The prior of a lens: standard deviations of normal distributions about the means named.
// They are wide. If the pictures say more, which is nearly always, they do not matter. If
// the pictures do not determine a parameter (k3, when the board never came near the
// picture's corners), its estimate stays at a typical value with a matching uncertainty,
// instead of following the noise.
//
// All are common practice without a source, set from lenses seen: phones after their own
// correction displace the corner of the picture by up to a hundredth, raw wide lenses of
// action cameras by a third.
const (
	// The relative displacement of a corner of the picture by each radial term. Each term of
	// the series is expected to be smaller than the one before.
	priorK1 = 0.30
	priorK2 = 0.15
	priorK3 = 0.05

	// The same for p1 and p2, lens elements off the axis: a hundredth or two.
	priorTangential = 0.02

	// The distance of the principal point from the middle of the picture, as a share of the
	// longer side. A clip is cropped from the middle of the sensor, and stabilisation moves
	// it by a few hundredths.
	priorCentre = 0.05

	// fx / fy is about 1: pixels are square, always so in a take.
	priorSquare = 0.01
)

// prior is the inverse covariance and the mean of the shared parameters.
type prior struct {
	weight [shared][shared]float64
	middle [shared]float64
}

// newPrior returns the prior for pictures of the given size, px, and an approximate focal
// length, px.
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
	// only the difference of the focal lengths is constrained
	e := 1 / (priorSquare * focal * priorSquare * focal)
	p.weight[fx][fx], p.weight[fy][fy] = e, e
	p.weight[fx][fy], p.weight[fy][fx] = -e, -e
	for k, sd := range [shapes]float64{priorBow, priorBow, priorBow, priorStretch, priorSkew} {
		set(parameters+k, sd)
	}
	return p
}

// deviation returns the prior's standard deviation of a parameter. It is infinite for the
// focal lengths, for which the prior only says that they are nearly equal.
func (p *prior) deviation(i int) float64 {
	if i == fx || i == fy {
		return math.Inf(1)
	}
	return 1 / math.Sqrt(p.weight[i][i])
}
