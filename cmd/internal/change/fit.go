package change

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"ecart/geometry/uncertainty"
)

// fitted is a generalised least-squares fit of y = X b + e. The errors e have the
// covariance scale*own + extra*I + shared: what is each point's own as stated,
// what scatters beyond it, and what points have in common. scale and extra are
// such that chi-squared is what the degrees of freedom say:
//
//	r' V^-1 r = n - p,  V = scale own + extra I + shared
//
// with extra above 0 and scale 1 where the points scatter more than stated, scale
// below 1 where less (Paule and Mandel 1982, J Res NBS 87:377, for the extra, from
// memory; the scale is the square of Birge's ratio). So the scatter that is seen
// decides, with Student's t: an interval that believed the stated figures would call
// athletes changed who only vary from day to day, and one that believed the scatter
// only where it is larger would be too wide for those who do not.
//
// The degrees of freedom of g'b are Satterthwaite's. With D the matrix that extra or
// scale stands before, v the variance of g'b and A the matrix in b = A y:
//
//	nu = 2 v^2 / (dv^2 var),  dv = g'A D A'g,  var = 2 (n-p) / tr(P D)^2,
//	P = V^-1 - V^-1 X (X'V^-1 X)^-1 X'V^-1
//
// which is n-p where all points are equally uncertain and share nothing.
type fitted struct {
	b         []float64
	standard  *mat.SymDense // covariance of b
	slack     *mat.SymDense // A D A'
	trace     float64       // tr(P D)
	chi2      float64       // with the stated covariance
	freedom   float64       // n - p
	p         float64       // of a chi-squared as large, if the stated figures are right
	extra     float64       // variance, degrees^2
	scale     float64
	residuals []float64
	coverage  float64
}

// leastLuck is how improbable a small scatter may be before it is no longer
// believed: the scale stays above the chi-squared that one set in a thousand is
// below.
const leastLuck = 0.001

// fit needs more points than columns of x, own positive definite.
func fit(x *mat.Dense, y []float64, own, shared mat.Symmetric, coverage float64) (*fitted, bool) {
	n, p := x.Dims()
	f := &fitted{freedom: float64(n - p), scale: 1, coverage: coverage}
	stated, ok := gls(x, y, own, shared, 1, 0, false)
	if !ok || n <= p {
		return nil, false
	}
	f.chi2 = stated.chi2
	dist := distuv.ChiSquared{K: f.freedom}
	f.p = dist.Survival(f.chi2)
	over := func(scale, extra float64) float64 {
		s, ok := gls(x, y, own, shared, scale, extra, false)
		if !ok {
			return math.Inf(1)
		}
		return s.chi2 - f.freedom
	}
	if f.chi2 > f.freedom {
		var top float64
		for i := range n {
			top = math.Max(top, own.At(i, i))
		}
		for over(1, top) > 0 {
			top *= 4
		}
		f.extra = solve(0, top, func(v float64) float64 { return over(1, v) })
	} else {
		least := dist.Quantile(leastLuck) / f.freedom
		f.scale = solve(least, 1, func(s float64) float64 { return over(s, 0) })
	}
	s, ok := gls(x, y, own, shared, f.scale, f.extra, true)
	if !ok {
		return nil, false
	}
	f.b, f.residuals = s.b, s.residuals
	f.standard = mat.NewSymDense(p, nil)
	f.standard.AddSym(sandwich(s.by, s.own), sandwich(s.by, shared))
	d := own
	if f.extra > 0 {
		d = mat.NewDiagDense(n, slices.Repeat([]float64{1}, n))
	}
	f.slack = sandwich(s.by, d)
	// P = V^-1 (I - X A)
	var rest, pd mat.Dense
	rest.Mul(x, s.by)
	rest.Scale(-1, &rest)
	for i := range n {
		rest.Set(i, i, rest.At(i, i)+1)
	}
	pd.Mul(&rest, d)
	f.trace = mat.Trace(solved(&s.chol, &pd))
	return f, true
}

// solved is V^-1 m.
func solved(ch *mat.Cholesky, m *mat.Dense) *mat.Dense {
	var out mat.Dense
	if err := ch.SolveTo(&out, m); err != nil {
		n, k := m.Dims()
		return mat.NewDense(n, k, slices.Repeat([]float64{math.NaN()}, n*k))
	}
	return &out
}

// solve finds where f, which falls from above 0 at low to 0 or below at high, is
// 0, by false position with the end that stays weighed down (the Illinois way).
func solve(low, high float64, f func(float64) float64) float64 {
	const (
		most  = 200
		close = 1e-14 // of the larger end: what a float64 tells apart
	)
	atLow, atHigh := f(low), f(high)
	if atLow <= 0 {
		return low
	}
	last := 0
	for range most {
		if atHigh == 0 || high-low <= close*high {
			break
		}
		x := (low*atHigh - high*atLow) / (atHigh - atLow)
		if !(x > low && x < high) {
			break
		}
		if v := f(x); v > 0 {
			low, atLow = x, v
			if last > 0 {
				atHigh /= 2
			}
			last = 1
		} else {
			high, atHigh = x, v
			if last < 0 {
				atLow /= 2
			}
			last = -1
		}
	}
	return high
}

// solution is a least-squares fit for one covariance.
type solution struct {
	b, residuals []float64
	by           *mat.Dense // b = by y
	own          *mat.SymDense
	chol         mat.Cholesky // of the covariance
	chi2         float64
}

// gls whitens by the Cholesky factor of the covariance and solves by QR. Without
// all, only chi-squared is worked out.
func gls(x *mat.Dense, y []float64, own, shared mat.Symmetric, scale, extra float64, all bool) (*solution, bool) {
	n, p := x.Dims()
	s := &solution{own: mat.NewSymDense(n, nil)}
	v := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			o := scale * own.At(i, j)
			if i == j {
				o += extra
			}
			s.own.SetSym(i, j, o)
			v.SetSym(i, j, o+shared.At(i, j))
		}
	}
	if !s.chol.Factorize(v) {
		return nil, false
	}
	var l mat.TriDense
	s.chol.LTo(&l)
	unit := 0 // columns of the unit matrix, which come out as the b of each y
	if all {
		unit = n
	}
	right := mat.NewDense(n, p+unit+1, nil)
	right.Slice(0, n, 0, p).(*mat.Dense).Copy(x)
	for i := range n {
		right.Set(i, p+unit, y[i])
		if all {
			right.Set(i, p+i, 1)
		}
	}
	var white, b mat.Dense
	if err := white.Solve(&l, right); err != nil { // L^-1 [X I y]
		return nil, false
	}
	var qr mat.QR
	wx := white.Slice(0, n, 0, p)
	qr.Factorize(wx)
	if err := qr.SolveTo(&b, false, white.Slice(0, n, p, p+unit+1)); err != nil {
		return nil, false
	}
	s.b = mat.Col(nil, unit, &b)
	var r mat.VecDense
	r.MulVec(wx, mat.NewVecDense(p, s.b))
	r.SubVec(white.ColView(p+unit), &r)
	s.chi2 = mat.Dot(&r, &r)
	if !all {
		return s, true
	}
	s.by = mat.DenseCopyOf(b.Slice(0, p, 0, n))
	s.residuals = make([]float64, n)
	for i := range n {
		s.residuals[i] = y[i] - mat.Dot(x.RowView(i), mat.NewVecDense(p, s.b))
	}
	return s, true
}

// half is the half-width of the interval of g'b.
func (f *fitted) half(g ...float64) float64 {
	v := mat.NewVecDense(len(g), g)
	variance, slack := mat.Inner(v, f.standard, v), mat.Inner(v, f.slack, v)
	nu := variance * f.trace / slack
	nu *= nu / f.freedom
	return uncertainty.CoverageFactor(math.Max(1, nu), f.coverage) * math.Sqrt(variance)
}

// sd is the standard uncertainty of g'b.
func (f *fitted) sd(g ...float64) float64 {
	v := mat.NewVecDense(len(g), g)
	return math.Sqrt(mat.Inner(v, f.standard, v))
}
