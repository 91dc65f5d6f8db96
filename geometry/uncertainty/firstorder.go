package uncertainty

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Propagated is the result of the law of propagation of uncertainty.
type Propagated struct {
	Value    float64
	Standard float64 // standard uncertainty
	Freedom  float64 // effective degrees of freedom; +Inf if no input's are finite
	Factor   float64 // coverage factor: Student's t for the coverage
	Expanded float64
	Coverage float64
}

// FirstOrder propagates the blocks' covariances through the gradient of the
// model at the means:
//
//	u^2 = g' V g,   nu = u^4 / sum(u_b^4 / nu_b)
//
// with u_b the contribution of block b (JCGM 100:2008, 5.2 and annex G.4). Blocks are
// independent of each other; within a block inputs are correlated as its
// covariance says. The effective degrees of freedom are not truncated to
// an integer. NaN in the gradient gives NaN in every result.
func FirstOrder(value float64, blocks []Block, gradient []float64, coverage float64) Propagated {
	var u2, denominator float64
	at := 0
	for i := range blocks {
		b := &blocks[i]
		part := b.variance(gradient[at : at+b.Dim()])
		at += b.Dim()
		u2 += part
		if !math.IsInf(b.Freedom, 1) {
			denominator += part * part / b.Freedom
		}
	}
	p := Propagated{Value: value, Standard: math.Sqrt(u2), Freedom: math.Inf(1), Coverage: coverage}
	if denominator > 0 {
		p.Freedom = u2 * u2 / denominator
	}
	p.Factor = CoverageFactor(p.Freedom, coverage)
	p.Expanded = p.Factor * p.Standard
	return p
}

// variance returns g' V g for one block.
func (b *Block) variance(g []float64) float64 {
	n := b.Dim()
	var sum float64
	for k := range n {
		var s float64
		for i := range n {
			s += g[i] * b.factor[i*n+k]
		}
		sum += s * s
	}
	if b.Kind == Uniform {
		return sum / 3
	}
	return sum
}

// CoverageFactor returns the factor k for which the interval +-k u has the given
// coverage: Student's t quantile, two-sided, for the degrees of freedom (+Inf: the
// normal quantile).
func CoverageFactor(freedom, coverage float64) float64 {
	p := (1 + coverage) / 2
	if math.IsInf(freedom, 1) {
		return normalQuantile(p)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: freedom}.Quantile(p)
}

func normalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// Agrees reports whether the Monte Carlo result validates the first-order result by
// JCGM 101:2008, clause 8: both ends of its interval lie within half a unit in the
// first significant digit of the standard uncertainty.
func (p Propagated) Agrees(d Distribution) bool {
	delta := halfUnit(d.SD)
	return math.Abs(p.Value-p.Expanded-d.Low) <= delta && math.Abs(p.Value+p.Expanded-d.High) <= delta
}
