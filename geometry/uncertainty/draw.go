package uncertainty

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"
)

// drawer draws input vectors. It belongs to one goroutine.
//
// The draws of a batch are the points of a rank-1 lattice with a random shift (Cranley and
// Patterson 1976, SIAM J. Numer. Anal. 13:904; from memory), each followed by its mirror
// about the means (antithetic draws), since every distribution here is symmetric. Each draw
// has the distribution of its block, batches are independent of each other, and within a
// batch the draws are spread more evenly than independent ones. The common chi-squared
// variable of a Student block, and inputs past the lattice's last dimension, are drawn
// independently.
type drawer struct {
	blocks []Block
	src    *rand.PCG
	rng    *rand.Rand
	chi    []distuv.ChiSquared
	at     []int32   // by input: k z_j mod lattice, shifted by whole steps
	shift  []float64 // by input: the fraction of a step in the shift, in (0, 1)
	z      []float64 // scratch: the standard normal draws of one block

	independent []independent // inputs that vary independently of all others
	correlated  []correlated  // blocks that are drawn as a whole
}

// independent is an input that varies independently of all others.
type independent struct {
	at           int
	uniform      bool
	mean, factor float64
}

// correlated is a block whose inputs vary together: its index, and that of its first
// input.
type correlated struct{ block, at int }

func newDrawer(blocks []Block) *drawer {
	d := &drawer{blocks: blocks, src: rand.NewPCG(0, 0), chi: make([]distuv.ChiSquared, len(blocks))}
	d.rng = rand.New(d.src)
	most, n := 0, 0
	for i := range blocks {
		most = max(most, blocks[i].Dim())
		n += blocks[i].Dim()
		d.chi[i] = distuv.ChiSquared{K: blocks[i].Freedom, Src: d.src}
	}
	d.z = make([]float64, most)
	d.at = make([]int32, min(n, len(generating)))
	d.shift = make([]float64, len(d.at))
	d.only(nil)
	return d
}

// only sets which blocks vary from here on: those for which active is true; nil: all.
func (d *drawer) only(active []bool) {
	d.independent, d.correlated = d.independent[:0], d.correlated[:0]
	at := 0
	for i := range d.blocks {
		b := &d.blocks[i]
		n := b.Dim()
		switch {
		case active != nil && !active[i]:
		case b.Kind == Student || !b.diagonal:
			d.correlated = append(d.correlated, correlated{i, at})
		default:
			for k := range n {
				if f := b.factor[k*n+k]; f != 0 {
					d.independent = append(d.independent, independent{at + k, b.Kind == Uniform, b.Mean[k], f})
				}
			}
		}
		at += n
	}
}

// seed starts a batch: the same seed and batch give the same draws whichever
// goroutine makes them.
func (d *drawer) seed(seed, batch uint64) {
	d.src.Seed(seed, batch)
	for j := range d.at {
		d.at[j] = d.rng.Int32N(lattice)
		d.shift[j] = (float64(d.rng.Int64N(1<<52)) + 0.5) / (1 << 52)
	}
}

// uniform returns the next lattice coordinate of input j, in (0, 1).
func (d *drawer) uniform(j int) float64 {
	if j >= len(d.at) {
		return (float64(d.rng.Int64N(1<<52)) + 0.5) / (1 << 52)
	}
	u := (float64(d.at[j]) + d.shift[j]) * (1.0 / lattice)
	if d.at[j] += generating[j]; d.at[j] >= lattice {
		d.at[j] -= lattice
	}
	return u
}

func (d *drawer) normal(j int) float64 { return fastQuantile(d.uniform(j)) }

// draw puts the next draw of the inputs that vary into x; x holds the means in the
// others.
func (d *drawer) draw(x []float64) {
	for i := range d.independent {
		l := &d.independent[i]
		u := d.uniform(l.at)
		if l.uniform {
			x[l.at] = l.mean + l.factor*(2*u-1)
		} else {
			x[l.at] = l.mean + l.factor*fastQuantile(u)
		}
	}
	for _, g := range d.correlated {
		d.block(g.block, g.at, x[g.at:g.at+d.blocks[g.block].Dim()])
	}
}

// block draws block i, whose first input has the index j.
func (d *drawer) block(i, j int, x []float64) {
	b := &d.blocks[i]
	scale := 1.0
	if b.Kind == Student {
		scale = math.Sqrt(b.Freedom / d.chi[i].Rand())
	}
	n := len(x)
	if b.diagonal {
		for k := range x {
			x[k] = b.Mean[k]
			if f := b.factor[k*n+k]; f != 0 {
				x[k] += scale * f * d.normal(j+k)
			}
		}
		return
	}
	z := d.z[:n]
	for k := range z {
		z[k] = scale * d.normal(j+k)
	}
	for r := range x {
		s := b.Mean[r]
		for k, f := range b.factor[r*n : r*n+n] {
			s += f * z[k]
		}
		x[r] = s
	}
}
