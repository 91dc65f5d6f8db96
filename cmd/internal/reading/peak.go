package reading

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"ecart/cmd/internal/fault"
)

// Sample is the angle in one frame of a followed clip.
type Sample struct {
	Frame    int
	TimeS    float64 // true time from the first frame, slow motion undone
	AngleDeg float64
	SDDeg    float64 // from placement alone: the error that scatters from frame to frame
	Part     int     // number, from 0, of its stretch without a gap or a jump
	Doubt    bool    // the stretch begins or ends at a jump
}

// Peak is the widest (or smallest) angle of a clip, between its frames.
type Peak struct {
	Frame    int     `json:"frame"`  // the nearest one
	TimeS    float64 `json:"time_s"` // true time
	AngleDeg float64 `json:"angle_deg"`
	// FitSDDeg is the standard uncertainty of the fitted angle from the marks' scatter;
	// TimingSDDeg that from what happens between the frames: the shape of the curve, and
	// the exposure time.
	FitSDDeg    float64 `json:"fit_standard_uncertainty_deg"`
	TimingSDDeg float64 `json:"timing_standard_uncertainty_deg"`
	Frames      int     `json:"frames"` // that the fit used
	HeldS       float64 `json:"held_s"` // how long the angle stayed within HeldDeg of the peak
	HeldDeg     float64 `json:"held_within_deg"`
	HeldCut     bool    `json:"held_cut"` // HeldS is a lower limit: the followed stretch begins, ends or has a gap within that time

	Gaps  []Gap  `json:"gaps"`  // frames in which the angle is not known, and may be larger
	Jumps []Jump `json:"jumps"` // marks that jump elsewhere in the clip
}

// heldWithin is how far from the peak the angle may be to count as held, degrees.
const heldWithin = 10

const (
	leastWindow = 5  // frames: a parabola has three parameters, and two more to see whether it fits
	widestDrop  = 15 // degrees below the peak: beyond, the polynomial is not a model of the movement

	// leastQuartic is the number of frames from which on a quartic is fitted: two more than it
	// has parameters.
	leastQuartic = 7

	// nextTerm is the standard uncertainty of the quartic's shape, as a part of its difference
	// from a parabola through the same frames: our estimate of the next term of a series with
	// decreasing terms.
	nextTerm = 0.25
)

// FindPeak fits a polynomial to the frames around the largest angle (the smallest, if smallest:
// less is better), each weighted by 1/SD^2, and returns its maximum.
//
//   - Only one stretch without a gap or a jump is used. It is an error if the angle is largest at
//     the edge of a stretch or in a stretch that a jump makes doubtful.
//   - The polynomial is a quartic for seven frames and more, since a leap opens and closes
//     asymmetrically and sharply, and a parabola for five.
//   - Of the windows centred on the largest angle, it takes the widest whose residuals are
//     explained by the stated uncertainties (chi-squared at 5 %) and over which the angle falls
//     by no more than 15 degrees.
//   - The difference from a parabola through the same frames gives the uncertainty of the shape.
func FindPeak(samples []Sample, smallest bool) (Peak, error) {
	sign := 1.0
	if smallest {
		sign = -1
	}
	if len(samples) < leastWindow {
		return Peak{}, fault.New(fmt.Sprintf("the angle is known in %d frames, too few for a peak", len(samples)), "follow at least five frames, or read a single frame with "+fault.Option("at")+" N")
	}
	s := make([]Sample, len(samples))
	for i, v := range samples {
		v.AngleDeg *= sign
		s[i] = v
	}
	top := highest(s)
	from, to := partOf(s, top)
	if s[top].Doubt {
		return Peak{}, fault.New(fmt.Sprintf("the angle is largest in frames %d to %d, at one end of which a mark jumps: something else may have been followed there", s[from].Frame, s[to-1].Frame),
			"look at the clip that "+fault.Option("clip")+" writes; cut the clip at the jump, or point at the stickers in a frame on the other side of it")
	}
	if top-from < leastWindow/2 && from > 0 || to-1-top < leastWindow/2 && to < len(s) {
		return Peak{}, fault.New(fmt.Sprintf("the angle is largest at frame %d, beside frames in which a sticker is not seen: the peak may lie in them", s[top].Frame),
			"take a clip in which the stickers stay in sight, or read a single frame with "+fault.Option("at")+" N")
	}
	if top < leastWindow/2 || top >= len(s)-leastWindow/2 {
		where := "first"
		if top >= len(s)/2 {
			where = "last"
		}
		return Peak{}, fault.New(fmt.Sprintf("the angle is largest at the %s frame that was followed, %d: the peak may lie outside", where, s[top].Frame),
			"take a clip that shows the whole movement, or place the seeds so that it is followed")
	}
	s, top = s[from:to], top-from
	var best topFit
	found := false
	for half := leastWindow / 2; top-half >= 0 && top+half < len(s); half++ {
		drop := s[top].AngleDeg - math.Min(s[top-half].AngleDeg, s[top+half].AngleDeg)
		f, ok := fitTop(s, top, half)
		if found && (drop > widestDrop || !ok || !f.explained) {
			break
		}
		if ok {
			best, found = f, true
		}
	}
	if !found {
		return Peak{}, fault.New(fmt.Sprintf("the angle has no peak about frame %d: it does not fall on both sides", s[top].Frame), "read a single frame with "+fault.Option("at")+" N")
	}
	p := Peak{TimeS: best.time, AngleDeg: sign * best.angle, FitSDDeg: best.sd, Frames: best.n, HeldDeg: heldWithin}
	p.Frame = nearest(s, best.time)
	// the exposure time is at most the frame interval T; the mean of a parabola c t^2 over T
	// lies c T^2/12 below its top. The second derivative, 2c, is used for c: an upper bound.
	// The true effect is between that and 0
	interval := (s[top+1].TimeS - s[top-1].TimeS) / 2
	open := math.Abs(best.curvature) * interval * interval / 12
	p.TimingSDDeg = math.Hypot(best.misfit, open/math.Sqrt(12))
	p.held(s, best.angle)
	return p, nil
}

// highest is the index of the sample with the largest weighted mean over itself and its neighbours,
// so that one outlier does not make a peak.
func highest(s []Sample) int {
	best, at := math.Inf(-1), 0
	for i := range s {
		var sum, weight float64
		for k := max(0, i-1); k <= min(len(s)-1, i+1); k++ {
			if s[k].Part != s[i].Part {
				continue
			}
			w := 1 / (s[k].SDDeg*s[k].SDDeg + 1e-6)
			sum += w * s[k].AngleDeg
			weight += w
		}
		if m := sum / weight; m > best {
			best, at = m, i
		}
	}
	return at
}

// partOf is the range [from, to) of the stretch that sample at belongs to.
func partOf(s []Sample, at int) (from, to int) {
	from, to = at, at+1
	for from > 0 && s[from-1].Part == s[at].Part {
		from--
	}
	for to < len(s) && s[to].Part == s[at].Part {
		to++
	}
	return from, to
}

// nearest is the frame of the sample nearest to time t.
func nearest(s []Sample, t float64) int {
	at := 0
	for i := range s {
		if math.Abs(s[i].TimeS-t) < math.Abs(s[at].TimeS-t) {
			at = i
		}
	}
	return s[at].Frame
}

// topFit is the fitted maximum.
type topFit struct {
	time, angle, sd float64
	curvature       float64 // second derivative at the top, degrees per second squared
	misfit          float64 // standard uncertainty from the curve's shape, degrees
	n               int
	explained       bool // the stated uncertainties explain the residuals
}

// fitTop fits the samples top-half..top+half. It fails if the polynomial has no maximum within
// them.
func fitTop(s []Sample, top, half int) (topFit, bool) {
	w := s[top-half : top+half+1]
	t0, unit := s[top].TimeS, (w[len(w)-1].TimeS-w[0].TimeS)/2
	low, ok := topOf(w, t0, unit, 2)
	if !ok {
		return topFit{}, false
	}
	degree := 4
	if len(w) < leastQuartic {
		degree = 3
	}
	high, ok := topOf(w, t0, unit, degree)
	if !ok { // the uncertainty of the shape is not known
		return topFit{}, false
	}
	// the asymmetry of a leap shifts the time of the peak, which a parabola cannot describe
	f := topFit{time: t0 + high.at*unit, angle: high.value, sd: high.sd, curvature: high.second / unit / unit, n: len(w)}
	f.misfit = math.Abs(high.value-low.value) * nextTerm
	if degree == 3 { // the parabola's value, with its difference from the cubic as uncertainty
		f.angle, f.sd, f.misfit = low.value, low.sd, math.Abs(high.value-low.value)
	}
	best := high
	if degree == 3 {
		best = low
	}
	f.explained = best.chi2 <= distuv.ChiSquared{K: best.freedom}.Quantile(0.95)
	// scatter larger than stated increases the uncertainty (Birge's ratio); smaller scatter does
	// not reduce it, since errors of neighbouring frames are correlated
	f.sd *= math.Max(1, math.Sqrt(best.chi2/best.freedom))
	return f, true
}

// polyTop is the maximum of a fitted polynomial; at is (t - t0) / unit.
type polyTop struct {
	at, value, sd, second float64
	chi2, freedom         float64
}

// topOf fits a polynomial and finds its maximum by Newton's method from the middle. It fails if there
// is none within the samples.
func topOf(w []Sample, t0, unit float64, degree int) (polyTop, bool) {
	c, cov, chi2, ok := polynomial(w, t0, unit, degree)
	if !ok {
		return polyTop{}, false
	}
	p := polyTop{chi2: chi2, freedom: float64(len(w) - degree - 1)}
	for range 12 {
		d1, d2 := 0.0, 0.0
		for k := degree; k >= 1; k-- {
			d1 = d1*p.at + float64(k)*c[k]
		}
		for k := degree; k >= 2; k-- {
			d2 = d2*p.at + float64(k*(k-1))*c[k]
		}
		p.second = d2
		if d2 >= 0 {
			return p, false
		}
		p.at -= d1 / d2
		if math.Abs(p.at) > 1 {
			return p, false
		}
	}
	// the derivative by the maximum's position is 0, so its variance is that of the polynomial there
	g := mat.NewVecDense(degree+1, nil)
	x := 1.0
	for k := range degree + 1 {
		g.SetVec(k, x)
		p.value += c[k] * x
		x *= p.at
	}
	p.sd = math.Sqrt(mat.Inner(g, cov, g))
	return p, true
}

// polynomial is the weighted least-squares fit of a polynomial of the degree in (t-t0)/unit: its
// coefficients, their covariance from the stated uncertainties, and chi-squared.
func polynomial(s []Sample, t0, unit float64, degree int) (c []float64, cov *mat.SymDense, chi2 float64, ok bool) {
	n := degree + 1
	a, b := mat.NewDense(len(s), n, nil), mat.NewVecDense(len(s), nil)
	for i, v := range s {
		w := 1 / math.Max(v.SDDeg, 1e-3)
		x := 1.0
		for k := range n {
			a.Set(i, k, w*x)
			x *= (v.TimeS - t0) / unit
		}
		b.SetVec(i, w*v.AngleDeg)
	}
	var normal mat.SymDense
	normal.SymOuterK(1, a.T())
	var ch mat.Cholesky
	if !ch.Factorize(&normal) {
		return nil, nil, 0, false
	}
	var right, x mat.VecDense
	right.MulVec(a.T(), b)
	if err := ch.SolveVecTo(&x, &right); err != nil {
		return nil, nil, 0, false
	}
	cov = mat.NewSymDense(n, nil)
	if err := ch.InverseTo(cov); err != nil {
		return nil, nil, 0, false
	}
	var r mat.VecDense
	r.MulVec(a, &x)
	r.SubVec(b, &r)
	return x.RawVector().Data, cov, mat.Dot(&r, &r), true
}

// held sets how long the angle stayed within heldWithin of the peak, with linear interpolation
// between frames.
func (p *Peak) held(s []Sample, angle float64) {
	limit := angle - heldWithin
	at := 0
	for i := range s {
		if s[i].Frame <= p.Frame {
			at = i
		}
	}
	edge := func(step int) (float64, bool) {
		for i := at; i+step >= 0 && i+step < len(s); i += step {
			if a, b := s[i], s[i+step]; b.AngleDeg < limit {
				part := (a.AngleDeg - limit) / (a.AngleDeg - b.AngleDeg)
				return a.TimeS + math.Max(0, math.Min(1, part))*(b.TimeS-a.TimeS), false
			}
		}
		if step < 0 {
			return s[0].TimeS, true
		}
		return s[len(s)-1].TimeS, true
	}
	from, cutFrom := edge(-1)
	to, cutTo := edge(1)
	p.HeldS, p.HeldCut = to-from, cutFrom || cutTo
}
