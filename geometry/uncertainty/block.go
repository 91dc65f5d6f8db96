package uncertainty

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Kind is the probability distribution of a block.
type Kind int

// The distributions. Student is the multivariate t with the block's degrees of
// freedom and one common chi-squared variable (JCGM 101:2008, 6.4.9).
const (
	Normal Kind = iota
	Student
	Uniform
)

// Block is a group of model inputs that vary together. Make one with
// [NewNormal], [NewStudent], [NewUniform] or [NewScalar].
type Block struct {
	Source  string
	Kind    Kind
	Mean    []float64
	Freedom float64 // degrees of freedom; +Inf if the spread is known exactly

	// factor is n x n, row by row, with factor * factor' = covariance; for
	// Uniform the diagonal holds the half-widths.
	factor   []float64
	diagonal bool
}

// NewScalar returns one normally distributed input.
func NewScalar(source string, mean, sd float64) Block {
	return Block{Source: source, Kind: Normal, Mean: []float64{mean}, Freedom: math.Inf(1), factor: []float64{sd}, diagonal: true}
}

// NewUniform returns one input that is equally likely everywhere in [lo, hi].
func NewUniform(source string, lo, hi float64) Block {
	return Block{Source: source, Kind: Uniform, Mean: []float64{(lo + hi) / 2}, Freedom: math.Inf(1), factor: []float64{(hi - lo) / 2}, diagonal: true}
}

// NewNormal returns a jointly normal block. cov is n x n, symmetric and positive
// semi-definite, in squared units of mean; any other cov is an error.
func NewNormal(source string, mean []float64, cov mat.Symmetric) (Block, error) {
	f, diagonal, err := factorise(cov)
	if err != nil {
		return Block{}, fmt.Errorf("source %q: %w", source, err)
	}
	if len(mean) != cov.SymmetricDim() {
		return Block{}, fmt.Errorf("source %q: %d values with a covariance of order %d", source, len(mean), cov.SymmetricDim())
	}
	return Block{Source: source, Kind: Normal, Mean: mean, Freedom: math.Inf(1), factor: f, diagonal: diagonal}, nil
}

// NewStudent returns a block whose mean and covariance were estimated from
// observations (type A): cov is the covariance of the mean, freedom its
// degrees of freedom, above 0.
func NewStudent(source string, mean []float64, cov mat.Symmetric, freedom float64) (Block, error) {
	b, err := NewNormal(source, mean, cov)
	if err != nil {
		return b, err
	}
	if !(freedom > 0) {
		return Block{}, fmt.Errorf("source %q: %v degrees of freedom", source, freedom)
	}
	if !math.IsInf(freedom, 1) {
		b.Kind, b.Freedom = Student, freedom
	}
	return b, nil
}

// Dim is the number of inputs in the block.
func (b *Block) Dim() int { return len(b.Mean) }

// Covariance returns the block's covariance as [FirstOrder] uses it: for Student the
// covariance of the mean, without the factor nu/(nu-2) of the t distribution's variance.
func (b *Block) Covariance() *mat.SymDense {
	n := b.Dim()
	c := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			var s float64
			for k := range n {
				s += b.factor[i*n+k] * b.factor[j*n+k]
			}
			if b.Kind == Uniform {
				s /= 3
			}
			c.SetSym(i, j, s)
		}
	}
	return c
}

// Means returns the input vector with every block at its mean.
func Means(blocks []Block) []float64 {
	var x []float64
	for i := range blocks {
		x = append(x, blocks[i].Mean...)
	}
	return x
}

// factorise returns F with F F' = cov. The spectral factor is used and not
// Cholesky's, since a covariance may be singular (a mark known exactly along
// one direction).
func factorise(cov mat.Symmetric) (f []float64, diagonal bool, err error) {
	n := cov.SymmetricDim()
	f = make([]float64, n*n)
	diagonal = true
	var scale float64
	for i := range n {
		for j := range n {
			v := cov.At(i, j)
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, false, fmt.Errorf("the uncertainty is not a number")
			}
			if i != j && v != 0 {
				diagonal = false
			}
			scale = math.Max(scale, math.Abs(v))
		}
	}
	if diagonal {
		for i := range n {
			if cov.At(i, i) < 0 {
				return nil, false, fmt.Errorf("the variance %v is negative", cov.At(i, i))
			}
			f[i*n+i] = math.Sqrt(cov.At(i, i))
		}
		return f, true, nil
	}
	var e mat.EigenSym
	if !e.Factorize(cov, true) {
		return nil, false, fmt.Errorf("the covariance has no spectral factor")
	}
	var v mat.Dense
	e.VectorsTo(&v)
	const roundOff = 1e-10 // of the largest entry: eigenvalues of a singular covariance come out a few ulp below zero
	for k, l := range e.Values(nil) {
		if l < -roundOff*scale {
			return nil, false, fmt.Errorf("the covariance is not positive: eigenvalue %v", l)
		}
		s := math.Sqrt(math.Max(l, 0))
		for i := range n {
			f[i*n+k] = s * v.At(i, k)
		}
	}
	return f, false, nil
}

// Fixed returns a block that does not vary.
func Fixed(source string, mean []float64) Block {
	n := len(mean)
	return Block{Source: source, Kind: Normal, Mean: mean, Freedom: math.Inf(1), factor: make([]float64, n*n), diagonal: true}
}
