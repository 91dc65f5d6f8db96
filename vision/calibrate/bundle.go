package calibrate

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"

	"ecart/geometry"
)

// shared is how many numbers all pictures share: the lens, then the board's shape.
const shared = parameters + shapes

// bundle is the fit of one lens and one board, and of a pose for each picture,
// to all corners seen, by Levenberg and Marquardt's method on
//
//	sum of squared residuals / sigma^2 + (q - m)' W (q - m)
//
// with q the lens and the board's shape, m and W their prior and sigma the
// standard deviation of a corner in each axis. The poses are taken out of each
// step by the Schur complement, so that the matrices stay small.
type bundle struct {
	board []corner
	seen  [][]geometry.Point // px, a picture each
	prior prior

	state
	sigma float64 // px

	covariance *mat.SymDense // of what is shared, once fitted
	spread     float64       // see disagreement
}

// state is what is fitted.
type state struct {
	common [shared]float64
	poses  []pose
}

func (s *state) lens() *lens      { return (*lens)(s.common[:parameters]) }
func (s *state) shape() []float64 { return s.common[parameters:] }

var errStray = errors.New("the fit does not settle")

// leastSigma keeps pictures without any noise from a division by nought; no
// corner is found better than that.
const leastSigma = 1e-4 // px

// fit settles everything, and sigma with it: it begins with the sigma that is
// set and takes that of the residuals until the two agree.
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

// freedom is the number of residuals less that of parameters.
func (b *bundle) freedom() int {
	return max(1, 2*len(b.seen)*len(b.board)-shared-steps*len(b.seen))
}

// settle runs the method for one sigma.
func (b *bundle) settle() error {
	const (
		rounds = 60
		still  = 1e-10 // of the cost: nothing moves by a hundredth of its uncertainty
		stuck  = 1e12
	)
	damping := 1e-4
	cost := b.cost(&b.state)
	if math.IsNaN(cost) || math.IsInf(cost, 0) {
		return errStray
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
				if gain <= still*(1+cost) {
					return nil
				}
				break
			}
			if damping *= 8; damping > stuck {
				return nil // no step is better: it stands at the minimum
			}
		}
	}
	return errStray
}

// squares is the sum of squared residuals, px^2; infinite where a board is not
// in front of the camera.
func (b *bundle) squares(s *state) float64 {
	sum := 0.0
	for v := range s.poses {
		sum += b.squaresOf(s, v)
	}
	return sum
}

// squaresOf is that of one picture.
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
