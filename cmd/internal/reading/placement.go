package reading

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
)

// placed is the mean of a landmark's placements, with the covariance of that mean (px^2) and its
// degrees of freedom.
type placed struct {
	at      geometry.Point
	cov     *mat.SymDense
	freedom float64
	n       int
	how     string
}

// leastFreedom is the number of degrees of freedom from which an observed scatter is used: the
// variance of Student's t is finite from 3 on.
const leastFreedom = 3

// gather combines the placements of each landmark. The covariance of the mean is the first of these
// that applies:
//
//  1. the landmark's own scatter over n placements, n-1 degrees of freedom, if
//     those are at least 3;
//  2. the scatter pooled over all landmarks placed repeatedly on this frame, the
//     same in x and y, if its degrees of freedom are at least 3;
//  3. the sum over the n placements, divided by n^2, of each one's covariance: the
//     one given with it, or its sd_px, or click, the prior, which grows with the
//     picture's size.
//
// Scatter along a single line carries no information about the other direction; its variance
// is used for x and y alike. Placements that all coincide are copies and count as one.
func gather(m *Marks, click float64) map[string]placed {
	order := map[string][]Placement{}
	var names []string // in the order of the marks, so that sums are reproducible
	for _, q := range m.Marks {
		if order[q.Landmark] == nil {
			names = append(names, q.Landmark)
		}
		order[q.Landmark] = append(order[q.Landmark], q)
	}
	var squares, freedom float64 // over both axes
	scatter := map[string]*mat.SymDense{}
	out := map[string]placed{}
	for _, name := range names {
		qs := order[name]
		n := float64(len(qs))
		var c geometry.Point
		for _, q := range qs {
			c.X += q.X / n
			c.Y += q.Y / n
		}
		s := mat.NewSymDense(2, nil)
		for _, q := range qs {
			s.SymRankOne(s, 1, mat.NewVecDense(2, []float64{q.X - c.X, q.Y - c.Y}))
		}
		if len(qs) > 1 {
			squares += s.At(0, 0) + s.At(1, 1)
			freedom += 2 * (n - 1)
		}
		scatter[name] = s
		out[name] = placed{at: c, n: len(qs)}
	}
	for _, name := range names {
		o := out[name]
		n := float64(o.n)
		own := scatter[name]
		switch {
		case o.n-1 >= leastFreedom && own.At(0, 0)+own.At(1, 1) > 0 && onOneLine(own):
			o.freedom = 2 * (n - 1)
			o.cov, o.how = isotropic((own.At(0, 0)+own.At(1, 1))/o.freedom/n), fmt.Sprintf("the scatter of %d placements", o.n)
		case o.n-1 >= leastFreedom && own.At(0, 0)+own.At(1, 1) > 0:
			o.freedom = n - 1
			own.ScaleSym(1/(n-1)/n, own)
			o.cov, o.how = own, fmt.Sprintf("the scatter of %d placements", o.n)
		case o.n > 1 && freedom >= leastFreedom && squares > 0:
			o.freedom = freedom
			o.cov, o.how = isotropic(squares/freedom/n), "the scatter of all repeated placements on this frame"
		default:
			o.freedom = math.Inf(1)
			qs := order[name]
			if own.At(0, 0)+own.At(1, 1) == 0 {
				qs = qs[:1]
			}
			o.cov, o.how = meanOf(qs, click)
		}
		out[name] = o
	}
	return out
}

// onOneLine reports whether a scatter has no extent in one direction: less than a thousandth of its
// total extent, which in pixels is less than the resolution of a written mark.
func onOneLine(s *mat.SymDense) bool {
	xx, yy, xy := s.At(0, 0), s.At(1, 1), s.At(0, 1)
	return xx*yy-xy*xy < 1e-6*(xx+yy)*(xx+yy)
}

// meanOf is the covariance of the mean of placements, px^2, from what is given for each, with the
// source of the largest of them in words.
func meanOf(qs []Placement, click float64) (*mat.SymDense, string) {
	sum, most, how := mat.NewSymDense(2, nil), 0.0, ""
	n := float64(len(qs))
	for _, q := range qs {
		one, source := isotropic(click*click), fmt.Sprintf("a hand click, %.2g px", click)
		switch {
		case q.Covariance != nil:
			c := q.Covariance
			one, source = mat.NewSymDense(2, []float64{c[0][0], c[0][1], c[0][1], c[1][1]}), "as the sticker was found"
			if q.Proposed || q.Confirmed != "" {
				source = "as the picture proposed it"
			}
		case q.SDPx != nil:
			one, source = isotropic(*q.SDPx**q.SDPx), "the sd_px of the marks"
		}
		if t := mat.Trace(one); t > most {
			most, how = t, source
		}
		sum.AddSym(sum, one)
	}
	sum.ScaleSym(1/(n*n), sum)
	return sum, how
}

func isotropic(variance float64) *mat.SymDense {
	return mat.NewSymDense(2, []float64{variance, 0, 0, variance})
}
