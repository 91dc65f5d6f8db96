package uncertainty

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Peak is a value of a series from which the values fall on both sides, with the numbers of the lowest values before and
// after it.
type Peak struct{ From, Top, To int }

// Peaks are the values of a series from which others fall on both sides by more than their standard deviations explain, each
// the largest between two such falls. A fall is explained where it is within the interval of the difference of two values with
// independent errors, of the given coverage. atEnds is the largest value from which the series falls so on one side alone,
// since it begins or ends on the other; -Inf for none.
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

// AsWide is the least part of the widest angle of a pass that counts as a leap of its own. It is taken for granted that strides
// of a run-up open the legs by less than two thirds of a leap, and that leaps of one athlete in one pass differ by less than
// a tenth; any value from 0.65 to 0.9 then gives the same leaps (TestShareOfALeap in package reading).
const AsWide = 0.75

// Apart joins neighbouring peaks between which no value falls below a share of the smaller one: one position that sways, and
// not two movements.
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
