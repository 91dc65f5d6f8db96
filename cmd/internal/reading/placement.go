package reading

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
)

// placed is one landmark as placed: the mean of its placements with the
// covariance of that mean (px^2) and its degrees of freedom.
type placed struct {
	at      geometry.Point
	cov     *mat.SymDense
	freedom float64
	n       int
	how     string
}

// leastFreedom is the fewest degrees of freedom from which a scatter is taken
// at its word: Student's t has a finite variance from 3 on.
const leastFreedom = 3

// gather brings the placements of each landmark together. The placement's
// covariance is, the first that applies:
//
//  1. the landmark's own scatter over n placements, n-1 degrees of freedom, if
//     those are at least 3;
//  2. the scatter pooled over all landmarks placed repeatedly on this frame,
//     alike in x and y, if its degrees of freedom are at least 3;
//  3. the covariance or the sd_px given with the mark;
//  4. click, the prior, which grows with the picture.
//
// The last two are divided by the number of placements.
func gather(m *Marks, click float64) map[string]placed {
	order := map[string][]Placement{}
	var names []string // in the order of the marks, so that sums come out the same each time
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
		case o.n-1 >= leastFreedom && own.At(0, 0)+own.At(1, 1) > 0:
			o.freedom = n - 1
			own.ScaleSym(1/(n-1)/n, own)
			o.cov, o.how = own, fmt.Sprintf("the scatter of %d placements", o.n)
		case o.n > 1 && freedom >= leastFreedom && squares > 0:
			o.freedom = freedom
			o.cov, o.how = isotropic(squares/freedom/n), "the scatter of all repeated placements on this frame"
		default:
			o.freedom = math.Inf(1)
			sd, how := click, fmt.Sprintf("a hand click, %.2g px", click)
			if given := order[name][0].SDPx; given != nil {
				sd, how = *given, "the sd_px of the marks"
			}
			o.cov, o.how = isotropic(sd*sd/n), how
			if c := order[name][0].Covariance; c != nil {
				o.cov, o.how = mat.NewSymDense(2, []float64{c[0][0] / n, c[0][1] / n, c[0][1] / n, c[1][1] / n}), "as the sticker was found"
			}
		}
		out[name] = o
	}
	return out
}

func isotropic(variance float64) *mat.SymDense {
	return mat.NewSymDense(2, []float64{variance, 0, 0, variance})
}
