package change

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"ecart/cmd/internal/reading"
)

// drawTogether draws n angles of each reading from its own distribution, with common
// errors shared between the readings (a Gaussian copula): common and own parts are drawn
// as normal and their sum is mapped to the reading's distribution by its quantiles.
// The variation from take to take is added to each reading independently; its standard deviation
// is drawn once for all readings of a draw.
func drawTogether(rs []Reading, takes variation, n int, seed uint64) [][]float64 {
	rnd := rand.New(rand.NewPCG(seed, 0x65636172742f6368)) // "ecart/ch": a stream of its own
	type share struct {
		common int     // index of the common error
		part   float64 // of the standard deviation
	}
	index := map[string]int{} // of the common errors
	shares := make([][]share, len(rs))
	rest := make([]float64, len(rs)) // own part of the standard deviation
	for i := range rs {
		rest[i] = 1
		for k := range rules {
			key := sharedKey(k, &rs[i])
			if key == "" {
				continue
			}
			if _, ok := index[key]; !ok {
				index[key] = len(index)
			}
			c := share{index[key], rs[i].common(&rules[k]) / rs[i].StandardDeg}
			shares[i] = append(shares[i], c)
			rest[i] -= c.part * c.part
		}
		rest[i] = math.Sqrt(math.Max(0, rest[i]))
	}
	quantiles := make([]func(float64) float64, len(rs))
	out := make([][]float64, len(rs))
	for i := range rs {
		quantiles[i] = quantile(&rs[i])
		out[i] = make([]float64, n)
	}
	common := make([]float64, len(index))
	for d := range n {
		for k := range common {
			common[k] = rnd.NormFloat64()
		}
		varies := takes.draw(rnd.Float64())
		for i := range rs {
			z := rest[i] * rnd.NormFloat64()
			for _, c := range shares[i] {
				z += c.part * common[c.common]
			}
			out[i][d] = quantiles[i](z) + varies*rnd.NormFloat64()
		}
	}
	return out
}

// quantile returns the function from z to the angle at the same cumulative probability as z in a standard normal
// distribution.
func quantile(r *Reading) func(z float64) float64 {
	h := r.Density
	if !usable(h) {
		return func(z float64) float64 { return r.AngleDeg + z*r.StandardDeg }
	}
	cumulative := make([]float64, len(h.Values)+1)
	for i, v := range h.Values {
		cumulative[i+1] = cumulative[i] + v
	}
	total := cumulative[len(h.Values)]
	return func(z float64) float64 {
		p := distuv.UnitNormal.CDF(z) * total
		i, _ := slices.BinarySearch(cumulative, p)
		i = min(max(i, 1), len(h.Values)) // the bin from i-1 to i
		part := 0.5
		if w := cumulative[i] - cumulative[i-1]; w > 0 {
			part = math.Min(1, math.Max(0, (p-cumulative[i-1])/w))
		}
		return h.FromDeg + h.StepDeg*(float64(i-1)+part)
	}
}

// usable reports whether the histogram is a distribution: finite, not negative, not empty.
func usable(h reading.Density) bool {
	var sum float64
	for _, v := range h.Values {
		if !(v >= 0) || math.IsInf(v, 0) {
			return false
		}
		sum += v
	}
	return len(h.Values) > 1 && sum > 0 && h.StepDeg > 0 && !math.IsNaN(h.FromDeg+h.StepDeg) && !math.IsInf(h.FromDeg+h.StepDeg, 0)
}
