package change

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"ecart/cmd/internal/reading"
)

// drawTogether draws n angles of each reading: each from its own distribution, and
// what they share moving them together. The shared parts are normal; their sum with
// a reading's own part is brought to the reading's distribution by its quantiles (a
// Gaussian copula). extra is a variance that each draw of each take has beside.
func drawTogether(rs []Reading, extra float64, n int, seed uint64) [][]float64 {
	rnd := rand.New(rand.NewPCG(seed, 0x65636172742f6368)) // "ecart/ch": a stream of its own
	type share struct {
		of   int     // which common error
		part float64 // of the standard deviation
	}
	errors := map[string]int{}
	shares := make([][]share, len(rs))
	rest := make([]float64, len(rs))
	for i := range rs {
		rest[i] = 1
		for k := range rules {
			key := sharedKey(k, &rs[i])
			if key == "" {
				continue
			}
			if _, ok := errors[key]; !ok {
				errors[key] = len(errors)
			}
			c := share{errors[key], rs[i].common(&rules[k]) / rs[i].StandardDeg}
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
	more := math.Sqrt(extra)
	common := make([]float64, len(errors))
	for d := range n {
		for k := range common {
			common[k] = rnd.NormFloat64()
		}
		for i := range rs {
			z := rest[i] * rnd.NormFloat64()
			for _, c := range shares[i] {
				z += c.part * common[c.of]
			}
			out[i][d] = quantiles[i](z) + more*rnd.NormFloat64()
		}
	}
	return out
}

// quantile is the angle at the same cumulative probability as z in a standard normal
// distribution.
func quantile(r *Reading) func(z float64) float64 {
	h := r.Density
	if !usable(h) {
		return func(z float64) float64 { return r.AngleDeg + z*r.StandardDeg }
	}
	full := make([]float64, len(h.Values)+1)
	for i, v := range h.Values {
		full[i+1] = full[i] + v
	}
	top := full[len(h.Values)]
	return func(z float64) float64 {
		p := distuv.UnitNormal.CDF(z) * top
		i, _ := slices.BinarySearch(full, p)
		i = min(max(i, 1), len(h.Values)) // the bin from i-1 to i
		part := 0.5
		if w := full[i] - full[i-1]; w > 0 {
			part = math.Min(1, math.Max(0, (p-full[i-1])/w))
		}
		return h.FromDeg + h.StepDeg*(float64(i-1)+part)
	}
}

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
