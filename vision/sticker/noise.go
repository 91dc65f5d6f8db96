package sticker

import (
	"math"
	"slices"
)

// noise is what the pixels about a sticker scatter by, where the sticker's light is 1 and that
// around it 0.
type noise struct {
	inside, around float64 // standard deviations
	rim            float64 // what comes on top where the sticker has half of a pixel
	alongX, alongY float64 // correlation of neighbours in a row, and in a column
}

// variance is that of a pixel in which the sticker has the share m.
func (n *noise) variance(m float64) float64 {
	return n.inside*n.inside*m + n.around*n.around*(1-m) + n.rim*n.rim*4*m*(1-m)
}

const (
	// leastScatter keeps a picture without any noise from having none at all: rounding to eight
	// bits leaves some.
	leastScatter = 5e-4

	// mostCorrelated bounds the correlation of neighbours: the errors of a coded picture end
	// with a transformed block, of 4 or 8 pixels.
	mostCorrelated = 0.8
)

// pulled is the number of quantities whose covariance is worked out.
const pulled = 5

// pull is how much a pixel's error moves the centre's x and y, and the three numbers of the form.
type pull [pulled]float64

// finish works out the covariance of the centre, and how good the fit is.
//
// Each pixel pulls the centre by psi_i = H^-1 J_i w_i, so that its covariance is
//
//	sum over i, j of psi_i psi_j^T s_i s_j rho(i - j)
//
// with the scatter s and the correlation rho of what the fit leaves over. It holds whatever the
// weights were, and however the noise hangs together.
func (t *fitter) finish(b *belief) (result, bool) {
	h := t.h
	if !factor(&h) {
		return result{}, false
	}
	// rows of the inverse
	var rows [pulled][allCount]float64
	for k, ask := range [pulled][allCount]float64{
		{byX: 1}, {byY: 1}, {byB11: 0.5, byB22: 0.5}, {byB11: 0.5, byB22: -0.5}, {byB12: 1},
	} {
		rows[k] = back(&h, &ask)
	}
	t.measure()
	w, hgt := t.box.Dx(), t.box.Dy()
	t.pulls = resize(t.pulls, w*hgt)
	per := 1 / t.scale
	var seen, rim, left float64
	var j [allCount]float64
	for i := range t.samples {
		s := &t.samples[i]
		u, v := (s.x-t.origin.X)*per, (s.y-t.origin.Y)*per
		in := t.light[0] + t.light[1]*u + t.light[2]*v
		out := t.light[3] + t.light[4]*u + t.light[5]*v
		j[inside0], j[inside0+1], j[inside0+2] = s.m, s.m*u, s.m*v
		j[around0], j[around0+1], j[around0+2] = 1-s.m, (1-s.m)*u, (1-s.m)*v
		from := inside0
		if s.rim {
			from = 0
			for k := range shapeCount {
				j[k] = (in - out) * s.d[k]
			}
			g2 := s.d[byX]*s.d[byX] + s.d[byY]*s.d[byY]
			rim += g2
			seen += g2 * s.keep
			left += g2 * s.err * s.err
		}
		at := &t.pulls[int(s.row)*w+int(s.col)]
		scatter := s.weight * math.Sqrt(t.noise.variance(s.m))
		for n := range rows {
			sum := 0.0
			for k := from; k < allCount; k++ {
				sum += rows[n][k] * j[k]
			}
			at[n] = sum * scatter
		}
	}
	if rim == 0 {
		return result{}, false
	}
	t.correlate(w, hgt)
	r := result{outline: t.outline, inside: t.ax.inside, around: t.ax.around, core: t.core, noise: t.noise}
	for i := range t.pulls {
		a, c := &t.pulls[i], &t.spare[i]
		r.cov[0][0] += a[0] * c[0]
		r.cov[0][1] += (a[0]*c[1] + a[1]*c[0]) / 2
		r.cov[1][1] += a[1] * c[1]
		for k := range r.formVariance {
			r.formVariance[k] += a[2+k] * c[2+k]
		}
	}
	r.cov[1][0] = r.cov[0][1]
	unit := r.radius() / t.scale
	for k := range r.formVariance {
		r.formVariance[k] *= unit * unit
	}
	r.share = seen / (rim + t.hidden)
	r.misfit = math.Sqrt(left / rim)
	r.blind, r.contrast = t.round.blind(), t.light[0]-t.light[3]
	xx, xy, yy := r.cov[0][0], r.cov[0][1], r.cov[1][1]
	return r, xx > 0 && yy > 0 && xx*yy > xy*xy
}

// correlate sets spare to pulls times the correlation between pixels, which falls with the
// distance along rows and along columns by a constant factor a pixel: a first-order Markov field,
// the usual model of what hangs together in a picture.
func (t *fitter) correlate(w, h int) {
	t.spare = resize(t.spare, w*h)
	copy(t.spare, t.pulls)
	run := func(first, step, n int, rho float64) {
		var a pull
		for i, at := 0, first; i < n; i, at = i+1, at+step {
			p := &t.spare[at]
			for k := range a {
				a[k] = p[k] + rho*a[k]
				p[k] = a[k]
			}
		}
		// backwards over the sums: out_i = sum_i + rho out_{i+1} - rho^2 sum_i ... with x = sum_i - rho sum_{i-1}
		a = pull{}
		for i, at := n-1, first+(n-1)*step; i >= 0; i, at = i-1, at-step {
			p := &t.spare[at]
			for k := range a {
				x := p[k]
				if i > 0 {
					x -= rho * t.spare[at-step][k]
				}
				p[k] += a[k]
				a[k] = rho * (a[k] + x)
			}
		}
	}
	if rho := t.noise.alongX; rho > 0 {
		for y := range h {
			run(y*w, 1, w, rho)
		}
	}
	if rho := t.noise.alongY; rho > 0 {
		for x := range w {
			run(x, w, h, rho)
		}
	}
}

// rimNoise takes the scatter on the rim from the median of what is left over there, which an
// object before a part of the rim does not move.
func (t *fitter) rimNoise() {
	t.sorted = t.sorted[:0]
	for i := range t.samples {
		if s := &t.samples[i]; s.rim && s.m > 0.15 && s.m < 0.85 {
			t.sorted = append(t.sorted, s.err*s.err/(4*s.m*(1-s.m)))
		}
	}
	if len(t.sorted) == 0 {
		return
	}
	slices.Sort(t.sorted)
	const median = 0.455 // of a squared normal deviate
	flat := (t.noise.inside*t.noise.inside + t.noise.around*t.noise.around) / 2
	t.noise.rim = math.Sqrt(math.Max(t.sorted[len(t.sorted)/2]/median-flat, 0))
}

// measure takes the scatter and its correlation from what the fit leaves over.
func (t *fitter) measure() {
	var sq, n [2]float64
	for i := range t.samples {
		s := &t.samples[i]
		if s.m > flatIn {
			sq[0] += s.keep * s.err * s.err
			n[0] += s.keep
		} else if s.m < flatOut {
			sq[1] += s.keep * s.err * s.err
			n[1] += s.keep
		}
	}
	// three parameters were fitted to either side
	sd := func(i int) float64 { return math.Sqrt(sq[i]/math.Max(n[i]-3, 0.3*n[i]+1)) + leastScatter }
	t.noise.inside, t.noise.around = sd(0), sd(1)
	if !t.core {
		t.noise.inside = t.noise.around
	}
	var over, count float64
	for i := range t.samples {
		s := &t.samples[i]
		if b := 4 * s.m * (1 - s.m); b > 0.1 {
			flat := t.noise.inside*t.noise.inside*s.m + t.noise.around*t.noise.around*(1-s.m)
			over += s.keep * b * (s.err*s.err - flat)
			count += s.keep * b * b
		}
	}
	// seven were fitted to the rim, where a pixel counts for half on the mean
	t.noise.rim = math.Sqrt(math.Max(over/math.Max(count-4, 0.3*count+1), 0))

	w, h := t.box.Dx(), t.box.Dy()
	t.left = resize(t.left, w*h)
	for i := range t.samples {
		s := &t.samples[i]
		t.left[int(s.row)*w+int(s.col)] = math.Sqrt(s.keep/t.noise.variance(s.m)) * s.err
	}
	var zero, x1, y1 float64
	for y := range h {
		for x := range w {
			i := y*w + x
			e := t.left[i]
			zero += e * e
			if x+1 < w {
				x1 += e * t.left[i+1]
			}
			if y+1 < h {
				y1 += e * t.left[i+w]
			}
		}
	}
	bound := func(s float64) float64 { return math.Min(math.Max(s/math.Max(zero, 1e-12), 0), mostCorrelated) }
	t.noise.alongX, t.noise.alongY = bound(x1), bound(y1)
}

func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	s = s[:n]
	clear(s)
	return s
}
