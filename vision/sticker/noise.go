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

// pulled is the number of quantities whose covariance is worked out: the centre's x and y, and the
// three numbers of the form.
const pulled = 5

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
	p := &t.pixels
	var seen, rim, left float64
	byX, byY := p.column(columnSlope+byX), p.column(columnSlope+byY)
	keep, left2 := p.column(columnKeep), p.column(columnErr)
	for i := range p.rim {
		g2 := float64(byX[i]*byX[i] + byY[i]*byY[i])
		rim += g2
		seen += g2 * float64(keep[i])
		left += g2 * float64(left2[i]) * float64(left2[i])
	}
	if rim == 0 {
		return result{}, false
	}
	l := t.lit()
	variance, xy := p.pull(&l, &rows, &t.noise, t.box.Dx(), t.box.Dy())
	r := result{outline: t.outline, inside: t.ax.inside, around: t.ax.around, core: t.core, noise: t.noise}
	r.shade, r.shaded = t.shade()
	xx, yy := variance[0], variance[1]
	for k := range 2 { // the slope of light that was taken for granted
		sd := t.shadeSD()
		x, y := rows[0][inside0+1+k]/sd, rows[1][inside0+1+k]/sd
		xx, yy, xy = xx+x*x, yy+y*y, xy+x*y
	}
	r.cov = [2][2]float64{{xx, xy}, {xy, yy}}
	unit := r.radius() / t.scale
	for k := range r.formVariance {
		r.formVariance[k] = variance[2+k] * unit * unit
	}
	r.share = seen / (rim + t.hidden)
	r.misfit = math.Sqrt(left / rim)
	r.blind, r.contrast = t.round.blind(), t.light[0]-t.light[3]
	return r, xx > 0 && yy > 0 && xx*yy > xy*xy
}

// rimNoise takes the scatter on the rim from the median of what is left over there, which an
// object before a part of the rim does not move.
func (t *fitter) rimNoise() {
	t.sorted = t.sorted[:0]
	share, left := t.pixels.column(columnShare), t.pixels.column(columnErr)
	for i, m := range share[:t.pixels.rim] {
		if m > 0.15 && m < 0.85 {
			t.sorted = append(t.sorted, left[i]*left[i]/(4*m*(1-m)))
		}
	}
	if len(t.sorted) == 0 {
		return
	}
	const usual = 0.455 // median of a squared normal deviate
	flat := (t.noise.inside*t.noise.inside + t.noise.around*t.noise.around) / 2
	t.noise.rim = math.Sqrt(math.Max(float64(median(t.sorted))/usual-flat, 0))
}

// median is that of v, which it sorts.
func median(v []float32) float32 {
	slices.Sort(v)
	return v[len(v)/2]
}

// measure takes the scatter and its correlation from what the fit leaves over.
func (t *fitter) measure() {
	p := &t.pixels
	share, left, keep := p.column(columnShare), p.column(columnErr), p.column(columnKeep)
	var sq, n [2]float64
	for i, m := range share {
		k, e := float64(keep[i]), float64(left[i])
		if m > flatIn {
			sq[0] += k * e * e
			n[0] += k
		} else if m < flatOut {
			sq[1] += k * e * e
			n[1] += k
		}
	}
	// three parameters were fitted to either side
	sd := func(i int) float64 { return math.Sqrt(sq[i]/math.Max(n[i]-3, 0.3*n[i]+1)) + leastScatter }
	t.noise.inside, t.noise.around = sd(0), sd(1)
	if !t.core {
		t.noise.inside = t.noise.around
	}
	var over, count float64
	for i, m := range share[:p.rim] {
		m, k, e := float64(m), float64(keep[i]), float64(left[i])
		if b := 4 * m * (1 - m); b > 0.1 {
			flat := t.noise.inside*t.noise.inside*m + t.noise.around*t.noise.around*(1-m)
			over += k * b * (e*e - flat)
			count += k * b * b
		}
	}
	// seven were fitted to the rim, where a pixel counts for half on the mean
	t.noise.rim = math.Sqrt(math.Max(over/math.Max(count-4, 0.3*count+1), 0))

	l := t.lit()
	x, y := p.hang(&l, t.box.Dx(), t.box.Dy())
	bound := func(r float64) float64 { return math.Min(math.Max(r, 0), mostCorrelated) }
	t.noise.alongX, t.noise.alongY = bound(x), bound(y)
}

func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	s = s[:n]
	clear(s)
	return s
}
