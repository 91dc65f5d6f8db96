package change

import (
	"fmt"
	"math"
	"slices"

	"ecart/cmd/internal/reading"
)

// missed is from how far to how far beyond the reading's angle that of the movement's widest moment may lie, degrees.
// A limb that is held, by a helper or own strength, has no moment to miss.
func (r *Reading) missed() (least, most float64) {
	if r.Condition == "passive" || r.Condition == "active" {
		return 0, 0
	}
	return r.Missed[0], r.Missed[1]
}

// missedVariance is the variance of what some readings of one day, side and condition missed,
// degrees^2. Whoever picks the frames may miss as much in each: it does not average out.
func missedVariance(rs []Reading, members []int) float64 {
	widest := 0.0
	for _, i := range members {
		least, most := rs[i].missed()
		widest = math.Max(widest, most-least)
	}
	return widest * widest / 12 // of a uniform distribution
}

// missedMean is between what their mean may have missed, degrees.
func missedMean(rs []Reading, members []int) (least, most float64) {
	for _, i := range members {
		a, b := rs[i].missed()
		least += a / float64(len(members))
		most += b / float64(len(members))
	}
	return least, most
}

// MissedNote says what is not in the angles of some readings, and what of it is in the rest; "" where nothing is missed.
func MissedNote(rs []Reading, where string) string {
	most, n := 0.0, 0
	for i := range rs {
		if _, b := rs[i].missed(); b > 0 {
			n++
			most = math.Max(most, b)
		}
	}
	if n == 0 {
		return ""
	}
	of := "the reading is"
	if len(rs) > 1 {
		of = fmt.Sprintf("%d of %d readings are", n, len(rs))
		if n == 1 {
			of = fmt.Sprintf("1 of %d readings is", len(rs))
		}
	}
	return fmt.Sprintf("%s of one frame: %s; %s", of, (&reading.Moment{MostDeg: most}).MissedWords(), where)
}

// withMissed are draws of a level with what its readings may have missed: of each draw one part of
// what may be missed, the same for all its readings. sign is -1 where less is better.
func withMissed(level []float64, least, most, sign float64) []float64 {
	if most == 0 {
		return level
	}
	out := slices.Clone(level)
	// the draws of a level come in no order, so that any sequence that fills 0 to 1 evenly is
	// independent of them: this one is by the golden ratio
	const step = 0.6180339887498949
	part := 0.0
	for d := range out {
		_, part = math.Modf(part + step)
		out[d] += sign * (least + part*(most-least))
	}
	return out
}

// beyond is an interval that goes on to what was missed, on the side where more is better.
func beyond(interval [2]float64, missed float64, atMost bool) [2]float64 {
	if atMost {
		interval[0] -= missed
	} else {
		interval[1] += missed
	}
	return interval
}
