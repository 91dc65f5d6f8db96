package uncertainty

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"
)

// drawer draws input vectors. It belongs to one goroutine.
type drawer struct {
	blocks []Block
	src    *rand.PCG
	rng    *rand.Rand
	chi    []distuv.ChiSquared
	z      []float64
}

func newDrawer(blocks []Block) *drawer {
	d := &drawer{blocks: blocks, src: rand.NewPCG(0, 0), chi: make([]distuv.ChiSquared, len(blocks))}
	d.rng = rand.New(d.src)
	n := 0
	for i := range blocks {
		n = max(n, blocks[i].Dim())
		d.chi[i] = distuv.ChiSquared{K: blocks[i].Freedom, Src: d.src}
	}
	d.z = make([]float64, n)
	return d
}

// seed starts the stream of one batch: the same seed and batch give the same
// draws whichever goroutine makes them.
func (d *drawer) seed(seed, batch uint64) { d.src.Seed(seed, batch) }

// draw fills x with one draw of the blocks for which active is nil or true;
// the others are left as they stand in x.
func (d *drawer) draw(x []float64, active []bool) {
	at := 0
	for i := range d.blocks {
		b := &d.blocks[i]
		n := len(b.Mean)
		if active == nil || active[i] {
			d.block(b, i, x[at:at+n])
		}
		at += n
	}
}

func (d *drawer) block(b *Block, i int, x []float64) {
	if b.Kind == Uniform {
		x[0] = b.Mean[0] + b.factor[0]*(2*d.rng.Float64()-1)
		return
	}
	scale := 1.0
	if b.Kind == Student {
		scale = math.Sqrt(b.Freedom / d.chi[i].Rand())
	}
	n := len(x)
	if b.diagonal {
		for k := range x {
			x[k] = b.Mean[k] + scale*b.factor[k*n+k]*d.rng.NormFloat64()
		}
		return
	}
	z := d.z[:n]
	for k := range z {
		z[k] = scale * d.rng.NormFloat64()
	}
	for r := range x {
		s := b.Mean[r]
		for k, f := range b.factor[r*n : r*n+n] {
			s += f * z[k]
		}
		x[r] = s
	}
}
