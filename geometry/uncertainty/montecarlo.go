package uncertainty

import (
	"errors"
	"math"
	"runtime"
	"sync"
)

// Model computes the output from the inputs x, in the order of [Means]. It is called from
// several goroutines and must not keep or change x.
type Model func(x []float64) float64

// Options of a Monte Carlo run; zero values take the defaults.
type Options struct {
	Seed      uint64  // the same seed gives the same draws
	Coverage  float64 // of the interval, in (0, 1); default 0.95
	Tolerance float64 // required stability of both ends of the interval, in units of the output; see [MonteCarlo]
	MaxDraws  int     // default a million
}

// Distribution is the result of a Monte Carlo run, in units of the output.
type Distribution struct {
	Mean, SD float64
	Low      float64 // ends of the probabilistically symmetric interval
	High     float64
	Coverage float64
	Values   []float64 // the draws, in no particular order
	Stable   bool      // the tolerance was reached before MaxDraws
}

// ErrNotFinite says that the model returned NaN or an infinity for a drawn input.
var ErrNotFinite = errors.New("the model gives no number for inputs within their uncertainty")

const (
	lattice    = 5_003       // number of lattice points, a prime
	batchSize  = 2 * lattice // each point with its mirror; JCGM 101:2008, 7.9.4 b): at least 10^4, and 100/(1-p)
	minBatches = 5           // before stopping: the scatter of the ends cannot be estimated from fewer
	// toleranceShare is the largest allowed scatter of the ends, as a part of the numerical
	// tolerance of the standard uncertainty to one digit (JCGM 101:2008, 8.2: no more
	// than a fifth, so that the validation of first order is meaningful).
	toleranceShare = 0.2
)

// MonteCarlo draws the blocks, evaluates the model for each draw and stops by the
// adaptive rule of JCGM 101:2008, 7.9: after each batch of some 10^4 the two
// ends of the interval are averaged over the batches, and twice the standard
// deviation of each average must be no more than the tolerance. The tolerance
// is the smaller of opt.Tolerance (where above 0) and a fifth of half a unit
// in the first significant digit of the standard uncertainty.
//
// Batches are drawn on all cores. Batch k always draws the same numbers and batches are
// evaluated in their order, so the result does not depend on the number of cores.
func MonteCarlo(blocks []Block, model Model, opt Options) (Distribution, error) {
	if opt.Coverage == 0 {
		opt.Coverage = 0.95
	}
	if !(opt.Coverage > 0 && opt.Coverage < 1) {
		return Distribution{}, errors.New("the coverage must lie between 0 and 1")
	}
	most := max(1, opt.MaxDraws/batchSize)
	if opt.MaxDraws == 0 {
		most = 1_000_000 / batchSize
	}
	workers := min(runtime.GOMAXPROCS(0), most)
	drawers := make([]*drawer, workers)
	for i := range drawers {
		drawers[i] = newDrawer(blocks)
	}
	var (
		values    = make([]float64, 0, most*batchSize)
		low, high spread
		batch     int
		stable    bool
	)
	for batch < most && !stable {
		round := min(workers, most-batch)
		values = values[:(batch+round)*batchSize]
		ends := make([][2]float64, round)
		var wg sync.WaitGroup
		for w := range round {
			wg.Go(func() {
				mine := values[(batch+w)*batchSize : (batch+w+1)*batchSize]
				drawers[w].fill(mine, model, opt.Seed, uint64(batch+w))
				ends[w][0], ends[w][1] = interval(mine, opt.Coverage)
			})
		}
		wg.Wait()
		for w := range round {
			if math.IsNaN(ends[w][0]) {
				return Distribution{}, ErrNotFinite
			}
			low.add(ends[w][0])
			high.add(ends[w][1])
			batch++
			if batch < minBatches {
				continue
			}
			// the standard uncertainty of a normal output with this interval: unlike the
			// standard deviation, single extreme draws do not affect it
			u := (high.mean - low.mean) / (2 * normalQuantile((1+opt.Coverage)/2))
			tol := toleranceShare * halfUnit(u)
			if opt.Tolerance > 0 {
				tol = math.Min(tol, opt.Tolerance)
			}
			if 2*low.meanSD() <= tol && 2*high.meanSD() <= tol {
				stable = true
				break
			}
		}
	}
	d := Distribution{Values: values[:batch*batchSize], Coverage: opt.Coverage, Stable: stable}
	d.Mean, d.SD = meanSD(d.Values)
	d.Low, d.High = interval(d.Values, opt.Coverage)
	return d, nil
}

// fill fills values with the first draws of a batch; one NaN or infinity sets all of
// them to NaN.
func (d *drawer) fill(values []float64, model Model, seed, batch uint64) {
	next := d.start(model, seed, batch)
	for i := range values {
		if values[i] = next(); math.IsNaN(values[i]) || math.IsInf(values[i], 0) {
			for j := range values {
				values[j] = math.NaN()
			}
			return
		}
	}
}

// start begins a batch and returns a function that evaluates the model for the next draw
// at each call: the points of the lattice, each followed by its mirror.
func (d *drawer) start(model Model, seed, batch uint64) func() float64 {
	d.seed(seed, batch)
	x, mean := Means(d.blocks), Means(d.blocks)
	mirrored := false
	return func() float64 {
		if mirrored {
			for k := range x {
				x[k] = 2*mean[k] - x[k]
			}
		} else {
			d.draw(x)
		}
		mirrored = !mirrored
		return model(x)
	}
}

// halfUnit is half a unit in the first significant digit of u: the numerical
// tolerance of JCGM 101:2008, 7.9.2, for one meaningful digit.
func halfUnit(u float64) float64 {
	if !(u > 0) {
		return 0
	}
	return 0.5 * math.Pow(10, math.Floor(math.Log10(u)))
}

// spread is a running mean and variance (Welford's algorithm).
type spread struct {
	n        int
	mean, m2 float64
}

func (s *spread) add(v float64) {
	s.n++
	d := v - s.mean
	s.mean += d / float64(s.n)
	s.m2 += d * (v - s.mean)
}

// meanSD returns the standard deviation of the mean.
func (s *spread) meanSD() float64 {
	return math.Sqrt(s.m2 / float64(s.n-1) / float64(s.n))
}

func meanSD(v []float64) (mean, sd float64) {
	for _, x := range v {
		mean += x
	}
	mean /= float64(len(v))
	var ss float64
	for _, x := range v {
		ss += (x - mean) * (x - mean)
	}
	return mean, math.Sqrt(ss / float64(len(v)-1))
}

// Drawer returns a function that evaluates the model for the next draw at each call, on
// one core and without end: MonteCarlo's inner loop, for benchmarks.
func Drawer(blocks []Block, model Model, seed uint64) func() float64 {
	return newDrawer(blocks).start(model, seed, 0)
}
