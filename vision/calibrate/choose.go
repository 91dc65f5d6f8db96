package calibrate

import (
	"math"
	"time"

	"ecart/geometry"
)

// Moment is the board found in one frame of a clip.
type Moment struct {
	Picture
	Time time.Duration // true, from the first frame
}

// Limits for choosing frames of a clip; common practice.
const (
	mostChosen   = 20   // pictures; more add little
	leastMove    = 0.06 // smallest movement of the board's corners between chosen pictures, as a share of the longer side
	mostSpeed    = 0.06 // longer sides per second: with a readout of 20 ms, rolling shutter then shifts the rows of a board by a thousandth of a side
	mostRelWidth = 1.5  // largest edge width, relative to the median
)

// Choose selects frames in which the board is sharp and still, and differs in place or
// tilt from the other chosen frames. moments and the result are in order of time.
func Choose(moments []Moment, b Board) []Picture {
	good := still(moments, b)
	if len(good) == 0 {
		return nil
	}
	// start with the sharpest frame, then add the one farthest from all chosen ones
	side := float64(max(good[0].Width, good[0].Height))
	chosen := map[int]bool{}
	far := make([]float64, len(good))
	next := 0
	for i := range good {
		far[i] = math.Inf(1)
		if good[i].EdgePx < good[next].EdgePx {
			next = i
		}
	}
	for len(chosen) < min(mostChosen, len(good)) && far[next] > leastMove*side {
		chosen[next] = true
		last := next
		far[last] = 0
		for i := range good {
			far[i] = math.Min(far[i], distance(b, good[i].Corners, good[last].Corners))
			if far[i] > far[next] {
				next = i
			}
		}
	}
	var out []Picture
	for i := range good {
		if chosen[i] {
			out = append(out, good[i].Picture)
		}
	}
	return out
}

// still returns the moments at which the board is sharp and slower than mostSpeed. If
// there are fewer than mostChosen, the limit is the median speed.
func still(moments []Moment, b Board) []Moment {
	var found []Moment
	for _, m := range moments {
		if m.Corners != nil {
			found = append(found, m)
		}
	}
	if len(found) == 0 {
		return nil
	}
	speeds, edges := make([]float64, len(found)), make([]float64, len(found))
	for i := range found {
		speeds[i] = math.Min(speed(b, found, i-1), speed(b, found, i))
		edges[i] = found[i].EdgePx
	}
	usual := median(edges)
	pick := func(limit float64) (out []Moment) {
		for i, m := range found {
			if !(speeds[i] > limit) && !(edges[i] > mostRelWidth*usual) {
				out = append(out, m)
			}
		}
		return out
	}
	if out := pick(mostSpeed); len(out) >= mostChosen {
		return out
	}
	return pick(math.Max(mostSpeed, median(speeds)))
}

// speed returns the speed of the corners from moment i to the next one, in longer sides
// of the picture a second. It is infinite if it is unknown.
func speed(b Board, m []Moment, i int) float64 {
	if i < 0 || i+1 >= len(m) {
		return math.Inf(1)
	}
	dt := (m[i+1].Time - m[i].Time).Seconds()
	if !(dt > 0) || dt > 1 {
		return math.Inf(1)
	}
	return distance(b, m[i].Corners, m[i+1].Corners) / dt / float64(max(m[i].Width, m[i].Height))
}

// distance returns the largest movement of one of the four outer corners, px.
func distance(b Board, p, q []geometry.Point) float64 {
	last := len(p) - 1
	most := 0.0
	for _, i := range []int{0, b.Columns - 1, last, last - b.Columns + 1} {
		most = math.Max(most, p[i].Sub(q[i]).Norm())
	}
	return most
}
