package calibrate

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
)

// shared is the number of parameters common to all pictures: the lens, then the
// board's shape.
const shared = parameters + shapes

// bundle fits one lens, one board and a pose for each picture to all corners found.
// It minimises, by the method of Levenberg and Marquardt,
//
//	sum of squared residuals / sigma^2 + (q - m)' W (q - m)
//
// where q holds the parameters of the lens and the board's shape, m and W are the mean
// and the inverse covariance of their prior, and sigma is the standard deviation of a
// corner in each axis, px. The Schur complement eliminates the poses from each step,
// so that the matrices stay small.
type bundle struct {
	board []corner
	seen  [][]geometry.Point // corners found in each picture, px
	prior prior

	state
	sigma float64 // px

	covariance *mat.SymDense // of the shared parameters, after the fit
	spread     float64       // see disagreement
}

// state holds the fitted parameters.
type state struct {
	common [shared]float64
	poses  []pose
}

func (s *state) lens() *lens      { return (*lens)(s.common[:parameters]) }
func (s *state) shape() []float64 { return s.common[parameters:] }

var errNoFit = errors.New("the fit does not converge")

// leastSigma prevents a division by zero for pictures without noise. No corner is
// found more accurately than that.
const leastSigma = 1e-4 // px

// fit estimates all parameters and sigma: it minimises for the current sigma, replaces it
// by the standard deviation of the residuals, and repeats until the two agree.
func (b *bundle) fit() error {
	const rounds, agreed = 8, 1e-4
	for range rounds {
		if err := b.settle(); err != nil {
			return err
		}
		before := b.sigma
		b.sigma = math.Max(leastSigma, math.Sqrt(b.squares(&b.state)/float64(b.freedom())))
		if math.Abs(b.sigma-before) < agreed*before {
			break
		}
	}
	e := b.equations(&b.state)
	s, err := e.reduce(0)
	if err != nil {
		return err
	}
	b.covariance, b.spread, err = e.disagreement(b, s)
	return err
}

// freedom returns the degrees of freedom: the number of residuals minus that of
// parameters.
func (b *bundle) freedom() int {
	return max(1, 2*len(b.seen)*len(b.board)-shared-poseParameters*len(b.seen))
}

// settle minimises for a given sigma.
func (b *bundle) settle() error {
	const (
		rounds  = 60
		enough  = 1e-10 // relative decrease of the cost below which the fit has converged: no parameter then moves by a hundredth of its uncertainty
		maxDamp = 1e12  // damping at which no step reduces the cost
	)
	damping := 1e-4
	cost := b.cost(&b.state)
	if math.IsNaN(cost) || math.IsInf(cost, 0) {
		return errNoFit
	}
	for range rounds {
		e := b.equations(&b.state)
		for {
			next, err := e.step(&b.state, damping)
			then := math.Inf(1)
			if err == nil {
				then = b.cost(next)
			}
			if then <= cost {
				gain := cost - then
				b.state, cost = *next, then
				damping = math.Max(damping/5, 1e-12)
				if gain <= enough*(1+cost) {
					return nil
				}
				break
			}
			if damping *= 8; damping > maxDamp {
				return nil // no step reduces the cost: this is the minimum
			}
		}
	}
	return errNoFit
}

// squares returns the sum of squared residuals, px^2. It is infinite if a board is
// not in front of the camera.
func (b *bundle) squares(s *state) float64 {
	sum := 0.0
	for v := range s.poses {
		sum += b.squaresOf(s, v)
	}
	return sum
}

// squaresOf returns the sum of squared residuals of picture v, px^2.
func (b *bundle) squaresOf(s *state, v int) float64 {
	sum := 0.0
	for i := range b.board {
		place := b.board[i].place(s.shape())
		if !(s.poses[v].depth(place) > 0) {
			return math.Inf(1)
		}
		r := b.seen[v][i].Sub(s.lens().project(&s.poses[v], place, nil))
		sum += r.Dot(r)
	}
	return sum
}

func (b *bundle) cost(s *state) float64 {
	sum := b.squares(s) / (b.sigma * b.sigma)
	for i := range shared {
		for k := range shared {
			sum += (s.common[i] - b.prior.middle[i]) * b.prior.weight[i][k] * (s.common[k] - b.prior.middle[k])
		}
	}
	return sum
}
