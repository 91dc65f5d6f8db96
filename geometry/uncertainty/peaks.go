package uncertainty

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Peak is a local maximum of a series, as indices: Top is the maximum, From and To the lowest values before and after it.
type Peak struct{ From, Top, To int }

// Peaks returns the local maxima of a series from which it falls significantly on both sides. A fall from a to b is
// significant if it exceeds k sqrt(sd_a^2 + sd_b^2), with k the two-sided normal quantile of the coverage (independent
// errors). Each peak is the largest value between two such falls. atEnds is the largest value at the beginning or the end of
// the series from which it falls significantly on one side only; -Inf if there is none.
func Peaks(values, sd []float64, coverage float64) (out []Peak, atEnds float64) {
	k := mathext.NormalQuantile((1 + coverage) / 2)
	falls := func(from, to int) bool { return values[from]-values[to] > k*math.Hypot(sd[from], sd[to]) }
	const (
		unknown = iota
		rising
		falling
	)
	atEnds = math.Inf(-1)
	state, from, top, low := unknown, 0, 0, 0
	for i, v := range values {
		if v > values[top] {
			top = i
		}
		if v < values[low] {
			low = i
		}
		switch {
		case state != falling && falls(top, i):
			if state == rising {
				out = append(out, Peak{from, top, i})
			} else {
				atEnds = values[top]
			}
			state, low = falling, i
		case state != rising && falls(i, low):
			if state == falling && len(out) > 0 {
				out[len(out)-1].To = low
			}
			state, from, top = rising, low, i
		}
	}
	if state == rising {
		return out, math.Max(atEnds, values[top])
	}
	if state == falling && len(out) > 0 {
		out[len(out)-1].To = low
	}
	return out, atEnds
}

// AsWide is the smallest share of a pass's widest angle at which a peak counts as a leap. Assumption: the strides of a run-up
// open the legs by less than two thirds of a leap, and the leaps of one athlete in one pass differ by less than a tenth. Any
// value from 0.65 to 0.9 then finds the same leaps (TestShareOfALeap in package reading).
const AsWide = 0.75

// Apart merges neighbouring peaks between which no value falls below the given share of the smaller one: they are one position
// held with some sway, not two movements. The merged peak is the larger of the two.
func Apart(values []float64, peaks []Peak, share float64) (out []Peak) {
	for _, p := range peaks {
		if n := len(out) - 1; n >= 0 {
			q := &out[n]
			low := math.Inf(1)
			for _, v := range values[q.Top : p.Top+1] {
				low = math.Min(low, v)
			}
			if low >= share*math.Min(values[q.Top], values[p.Top]) {
				if values[p.Top] > values[q.Top] {
					q.Top = p.Top
				}
				q.To = p.To
				continue
			}
		}
		out = append(out, p)
	}
	return out
}
