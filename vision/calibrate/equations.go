package calibrate

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// equations are the normal equations of one step, scaled to units in which each shared
// parameter is about one.
type equations struct {
	unit  [shared]float64
	prior [shared][shared]float64
	pull  [shared]float64 // right side of the prior's part
	views []normal
}

// normal is one picture's part: A for the shared parameters, C for the pose, B for
// both, and the right sides.
type normal struct {
	a  [shared][shared]float64
	b  [shared][poseParameters]float64
	c  [poseParameters][poseParameters]float64
	ga [shared]float64
	gc [poseParameters]float64

	// after reduce: C^-1 [B' gc], and A - B C^-1 B' and ga - B C^-1 gc
	byCommon [poseParameters][shared]float64
	poseStep [poseParameters]float64
	own      [shared][shared]float64
	score    [shared]float64
}

func (b *bundle) equations(s *state) *equations {
	l := s.lens()
	e := &equations{views: make([]normal, len(s.poses))}
	f := math.Sqrt(math.Abs(l[fx] * l[fy]))
	for i := range e.unit {
		e.unit[i] = 1
		if i <= cy {
			e.unit[i] = f
		}
	}
	for i := range shared {
		for k := range shared {
			e.prior[i][k] = b.prior.weight[i][k] * e.unit[i] * e.unit[k]
			e.pull[i] -= b.prior.weight[i][k] * e.unit[i] * (s.common[k] - b.prior.middle[k])
		}
	}
	w := 1 / (b.sigma * b.sigma)
	var d slopes
	var row [shared]float64
	for v := range s.poses {
		q := &e.views[v]
		for n := range b.board {
			c := &b.board[n]
			r := b.seen[v][n].Sub(l.project(&s.poses[v], c.place(s.shape()), &d))
			for axis, res := range [2]float64{r.X, r.Y} {
				for i := range parameters {
					row[i] = d.lens[axis][i] * e.unit[i]
				}
				g := d.place[axis]
				for k := range shapes {
					by := &c.by[k]
					row[parameters+k] = g[0]*by[0] + g[1]*by[1] + g[2]*by[2]
				}
				q.add(&row, &d.pose[axis], res, w)
			}
		}
	}
	return e
}

// add adds one residual with weight w. row and turn are its derivatives by the shared
// parameters and by the pose.
func (q *normal) add(row *[shared]float64, turn *[poseParameters]float64, res, w float64) {
	for i := range shared {
		wi := w * row[i]
		if wi == 0 {
			continue
		}
		q.ga[i] += wi * res
		for k := i; k < shared; k++ {
			q.a[i][k] += wi * row[k]
		}
		for k := range poseParameters {
			q.b[i][k] += wi * turn[k]
		}
	}
	for i := range poseParameters {
		wi := w * turn[i]
		q.gc[i] += wi * res
		for k := i; k < poseParameters; k++ {
			q.c[i][k] += wi * turn[k]
		}
	}
}

// reduce eliminates the poses, with every diagonal raised by the damping, and returns
// the matrix for the shared parameters.
func (e *equations) reduce(damping float64) (*mat.SymDense, error) {
	s := mat.NewSymDense(shared, nil)
	for i := range shared {
		for k := i; k < shared; k++ {
			s.SetSym(i, k, e.prior[i][k])
		}
		s.SetSym(i, i, e.prior[i][i]*(1+damping))
	}
	c := mat.NewSymDense(poseParameters, nil)
	right := mat.NewDense(poseParameters, shared+1, nil)
	var chol mat.Cholesky
	var x mat.Dense
	for v := range e.views {
		q := &e.views[v]
		for i := range poseParameters {
			for k := i; k < poseParameters; k++ {
				c.SetSym(i, k, q.c[i][k])
			}
			c.SetSym(i, i, q.c[i][i]*(1+damping))
			for k := range shared {
				right.Set(i, k, q.b[k][i])
			}
			right.Set(i, shared, q.gc[i])
		}
		if !chol.Factorize(c) {
			return nil, errNoFit
		}
		if err := chol.SolveTo(&x, right); err != nil {
			return nil, errNoFit
		}
		for i := range poseParameters {
			for k := range shared {
				q.byCommon[i][k] = x.At(i, k)
			}
			q.poseStep[i] = x.At(i, shared)
		}
		for i := range shared {
			q.score[i] = q.ga[i]
			for j := range poseParameters {
				q.score[i] -= q.b[i][j] * q.poseStep[j]
			}
			for k := i; k < shared; k++ {
				own := q.a[i][k]
				if i == k {
					own *= 1 + damping
				}
				for j := range poseParameters {
					own -= q.b[i][j] * q.byCommon[j][k]
				}
				q.own[i][k], q.own[k][i] = own, own
				s.SetSym(i, k, s.At(i, k)+own)
			}
		}
	}
	return s, nil
}

// step returns the state after one step.
func (e *equations) step(from *state, damping float64) (*state, error) {
	s, err := e.reduce(damping)
	if err != nil {
		return nil, err
	}
	g := mat.NewVecDense(shared, nil)
	for i := range shared {
		sum := e.pull[i]
		for v := range e.views {
			sum += e.views[v].score[i]
		}
		g.SetVec(i, sum)
	}
	var chol mat.Cholesky
	var d mat.VecDense
	if !chol.Factorize(s) || chol.SolveVecTo(&d, g) != nil {
		return nil, errNoFit
	}
	next := &state{common: from.common, poses: make([]pose, len(from.poses))}
	for i := range shared {
		next.common[i] += d.AtVec(i) * e.unit[i]
	}
	for v := range next.poses {
		q := &e.views[v]
		turn := q.poseStep
		for j := range poseParameters {
			for i := range shared {
				turn[j] -= q.byCommon[j][i] * d.AtVec(i)
			}
		}
		next.poses[v] = from.poses[v].moved(turn)
	}
	return next, nil
}

// disagreement returns the covariance of the shared parameters, and the ratio by which
// the pictures disagree about them.
//
// The errors of the corners of one picture are correlated: by blur, or by a board that
// flexes in the hand. Treated as independent, they would make the covariance too small.
// At the minimum the score g_v of picture v balances those of all others. If all errors
// were independent, g_v would have the covariance S_v - S_v S^-1 S_v, where S_v is the
// picture's part of S. So
//
//	ratio^2 = sum g_v' S^-1 g_v / sum trace(S^-1 S_v - S^-1 S_v S^-1 S_v)
//
// is 1 on average if corner errors are independent. It is a single number for all
// directions and pictures, and so is known far better than a number for each. If it is
// above 1, the weight of the pictures is divided by ratio^2, as with Birge's ratio for
// measurements that disagree (Birge 1932, Phys. Rev. 40:207).
func (e *equations) disagreement(b *bundle, s *mat.SymDense) (*mat.SymDense, float64, error) {
	var chol mat.Cholesky
	if !chol.Factorize(s) {
		return nil, 0, errNoFit
	}
	numerator, denominator := 0.0, 0.0
	var x, square mat.Dense
	var pulled mat.VecDense
	for v := range e.views {
		q := &e.views[v]
		own := mat.NewDense(shared, shared, nil)
		for i := range shared {
			own.SetRow(i, q.own[i][:])
		}
		g := mat.NewVecDense(shared, q.score[:])
		if chol.SolveTo(&x, own) != nil || chol.SolveVecTo(&pulled, g) != nil {
			return nil, 0, errNoFit
		}
		square.Mul(&x, &x)
		numerator += mat.Dot(g, &pulled)
		denominator += mat.Trace(&x) - mat.Trace(&square)
	}
	ratio := 1.0
	if denominator > 0 {
		ratio = math.Sqrt(numerator / denominator)
	}
	widen := math.Max(1, ratio)
	for i := range shared { // (D / ratio^2 + W)^-1 with D = S - W
		for k := i; k < shared; k++ {
			s.SetSym(i, k, (s.At(i, k)-e.prior[i][k])/(widen*widen)+e.prior[i][k])
		}
	}
	out := mat.NewSymDense(shared, nil)
	if !chol.Factorize(s) || chol.InverseTo(out) != nil {
		return nil, 0, errNoFit
	}
	for i := range shared {
		for k := i; k < shared; k++ {
			out.SetSym(i, k, out.At(i, k)*e.unit[i]*e.unit[k])
		}
	}
	return out, ratio, nil
}
