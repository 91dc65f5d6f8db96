package take

import (
	"math/bits"
	"slices"
	"time"
)

// clock converts ticks of time stamps to time. One tick lasts num/den seconds.
type clock struct{ num, den int64 }

// duration converts ticks, zero or more, to the nearest nanosecond.
func (c clock) duration(ticks int64) time.Duration {
	if ticks <= 0 || c.num <= 0 || c.den <= 0 {
		return 0
	}
	hi, lo := bits.Mul64(uint64(ticks), uint64(c.num)*uint64(time.Second))
	lo, carry := bits.Add64(lo, uint64(c.den)/2, 0)
	hi += carry
	if hi >= uint64(c.den) {
		return 1<<63 - 1
	}
	q, _ := bits.Div64(hi, lo, uint64(c.den))
	return time.Duration(min(q, 1<<63-1))
}

func (c clock) seconds(ticks float64) float64 { return ticks * float64(c.num) / float64(c.den) }

// usualInterval returns the mean of the intervals that differ from the median by at most a quarter and one
// tick, in ticks. Neither rounding to ticks nor a few long pauses change it. It is 0 if there are fewer than
// two times.
func usualInterval(times []int64) float64 {
	if len(times) < 2 {
		return 0
	}
	steps := make([]int64, len(times)-1)
	for i := range steps {
		steps[i] = times[i+1] - times[i]
	}
	slices.Sort(steps)
	median := float64(steps[len(steps)/2])
	sum, n := 0.0, 0
	for _, s := range steps {
		if d := float64(s) - median; d <= median/4+1 && d >= -median/4-1 {
			sum += float64(s)
			n++
		}
	}
	return sum / float64(n)
}

// varies reports whether any interval differs from the usual one by more than a tenth plus one tick.
func varies(times []int64, usual float64) bool {
	for i := 1; i < len(times); i++ {
		if d := float64(times[i]-times[i-1]) - usual; d > usual/10+1 || d < -usual/10-1 {
			return true
		}
	}
	return false
}

// stretch returns the ratio of stored to true intervals, for a clip tagged as captured at the given rate and
// stored at the nominal rate, both in frames a second. It is 1 if the rates agree within a tenth: the time
// stamps are then true. It is 1 too if the tag is missing or absurd.
func stretch(captured, nominal float64) float64 {
	if nominal <= 0 || !(captured >= 0.01 && captured <= 10000) {
		return 1
	}
	if s := captured / nominal; s < 0.9 || s > 1.1 {
		return s
	}
	return 1
}
