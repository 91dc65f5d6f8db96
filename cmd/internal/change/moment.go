package change

import (
	"fmt"
	"math"
	"slices"

	"ecart/cmd/internal/reading"
)

// missed is the range, degrees, by which the angle at the movement's widest moment may be
// beyond the reading's angle. It is 0 to 0 for a limb that is held, by a helper or by own
// strength: it has no moment to miss.
func (r *Reading) missed() (least, most float64) {
	if r.Condition == "passive" || r.Condition == "active" {
		return 0, 0
	}
	return r.Missed[0], r.Missed[1]
}

// missedVariance is the variance, degrees^2, of what readings of one day, side and
// condition missed of the widest moment. It does not average out, since whoever picks the
// frames may miss the same amount in each.
func missedVariance(rs []Reading, members []int) float64 {
	widest := 0.0
	for _, i := range members {
		least, most := rs[i].missed()
		widest = math.Max(widest, most-least)
	}
	return widest * widest / 12 // of a uniform distribution
}

// missedMean is the range, degrees, of what the mean of the readings may have missed.
func missedMean(rs []Reading, members []int) (least, most float64) {
	for _, i := range members {
		a, b := rs[i].missed()
		least += a / float64(len(members))
		most += b / float64(len(members))
	}
	return least, most
}

// MissedNote is the note that readings of single frames may have missed the widest moment,
// followed by where, which says how the results allow for it; "" if nothing is missed.
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
	subject := "the reading is"
	if len(rs) > 1 {
		subject = fmt.Sprintf("%d of %d readings are", n, len(rs))
		if n == 1 {
			subject = fmt.Sprintf("1 of %d readings is", len(rs))
		}
	}
	return fmt.Sprintf("%s of one frame: %s; %s", subject, (&reading.Moment{MostDeg: most}).MissedWords(), where)
}

// withMissed adds to each draw of a level what its readings may have missed: uniformly
// distributed from least to most, degrees, and the same for all readings of a draw. sign
// is -1 if less is better.
func withMissed(level []float64, least, most, sign float64) []float64 {
	if most == 0 {
		return level
	}
	out := slices.Clone(level)
	// the draws are in random order, so any sequence that fills 0 to 1 evenly is independent
	// of them: this one uses the golden ratio
	const step = 0.6180339887498949
	part := 0.0
	for d := range out {
		_, part = math.Modf(part + step)
		out[d] += sign * (least + part*(most-least))
	}
	return out
}

// beyond extends an interval by what was missed, upwards, or downwards for a skill that
// allows at most so much.
func beyond(interval [2]float64, missed float64, atMost bool) [2]float64 {
	if atMost {
		interval[0] -= missed
	} else {
		interval[1] += missed
	}
	return interval
}
