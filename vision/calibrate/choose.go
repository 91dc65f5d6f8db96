package calibrate

import (
	"math"
	"time"

	"ecart/geometry"
)

// Moment is what was seen of a board in one frame of a clip.
type Moment struct {
	Picture
	Time time.Duration // true, from the first frame
}

// What makes frames of a clip worth keeping; common practice.
const (
	mostChosen = 20   // more add little
	apart      = 0.06 // of the picture's longer side that the board's corners have moved, to be another picture
	hurried    = 0.06 // sides a second: at 20 ms of readout a board's rows are a thousandth of a side out of step
	sharpest   = 1.5  // times the edges of the sharper half
)

// Choose picks, from moments in the order of time, frames in which the board is
// sharp, held still and in another place or at another tilt than in the others.
// The result is in the order of time.
func Choose(moments []Moment, b Board) []Picture {
	good := still(moments, b)
	if len(good) == 0 {
		return nil
	}
	// each next one is the farthest from all that are chosen
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
	for len(chosen) < min(mostChosen, len(good)) && far[next] > apart*side {
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

// still are the moments at which the board is sharp and hardly moves. Where there
// are few such, they are those at which it moves less than at half of all.
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
			if !(speeds[i] > limit) && !(edges[i] > sharpest*usual) {
				out = append(out, m)
			}
		}
		return out
	}
	if out := pick(hurried); len(out) >= mostChosen {
		return out
	}
	return pick(math.Max(hurried, median(speeds)))
}

// speed is how fast the corners move from moment i to the next one, in longer
// sides of the picture a second; infinite where it is not known.
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

// distance is the largest way of one of the four outer corners, px.
func distance(b Board, p, q []geometry.Point) float64 {
	last := len(p) - 1
	most := 0.0
	for _, i := range []int{0, b.Columns - 1, last, last - b.Columns + 1} {
		most = math.Max(most, p[i].Sub(q[i]).Norm())
	}
	return most
}
