package draw

import "math"

// Scale maps degrees to a coordinate along a line: From to A, To to B. On a vertical scale,
// A is below B, that is, the larger coordinate.
type Scale struct{ From, To, A, B float64 }

// At returns the coordinate of v.
func (k Scale) At(v float64) float64 { return k.A + (k.B-k.A)*(v-k.From)/(k.To-k.From) }

// In reports whether v is on the scale.
func (k Scale) In(v float64) bool { return v >= k.From && v <= k.To }

// Keep returns v, clamped to the scale.
func (k Scale) Keep(v float64) float64 { return min(max(v, k.From), k.To) }

// PerUnit returns the length of a degree, or another unit of the scale, on the line.
func (k Scale) PerUnit() float64 { return math.Abs(k.B-k.A) / (k.To - k.From) }

// TickLong is the longest stroke of a scale, in text sizes.
const TickLong = 0.34

// Graduation is a stroke of a scale and its length; the longest are at multiples of ten units.
type Graduation struct{ At, Long float64 }

// Graduations returns the strokes of k for text of the given size: at multiples of one, five
// and ten units, unless they would be too close. The unit is a power of ten.
func Graduations(k Scale, size float64) []Graduation {
	unit := 1.0
	for unit*k.PerUnit()*100 < 0.13*size {
		unit *= 10
	}
	for unit*k.PerUnit() > 6*size {
		unit /= 10
	}
	var out []Graduation
	for _, s := range []struct{ step, long float64 }{{unit, 0.15}, {5 * unit, 0.24}, {10 * unit, TickLong}} {
		if s.step*k.PerUnit() < 0.13*size {
			continue
		}
		for i := math.Ceil(k.From / s.step); i*s.step <= k.To; i++ {
			out = append(out, Graduation{i * s.step, s.long * size})
		}
	}
	return out
}

// Rounds returns round values on k that are at least gap apart.
func Rounds(k Scale, gap float64) []float64 {
	step := 0.01
	for _, s := range []float64{0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 45, 90, 180, 360} {
		if step = s; s*k.PerUnit() >= gap {
			break
		}
	}
	var out []float64
	for i := math.Ceil(k.From/step - 1e-9); i*step <= k.To+1e-9*step; i++ {
		out = append(out, math.Round(i*step*100)/100+0)
	}
	return out
}

// Known reports whether iv is an interval: both ends are angles, and it has a width,
// since no measurement is exact.
func Known(iv [2]float64) bool { return Angles(iv[0], iv[1]) && iv[1] > iv[0] }

// Extent collects the values that a scale has to show.
type Extent struct {
	from, to float64
	any      bool
	loose    [][2]float64 // intervals, which are shown in part if they are very wide
}

// Hold makes the scale show all vs that are angles.
func (e *Extent) Hold(vs ...float64) {
	for _, v := range vs {
		switch {
		case !Angles(v):
		case !e.any:
			e.from, e.to, e.any = v, v, true
		default:
			e.from, e.to = min(e.from, v), max(e.to, v)
		}
	}
}

// Interval makes the scale show an interval, or part of it if it is very wide.
func (e *Extent) Interval(iv [2]float64) {
	if Known(iv) {
		e.loose = append(e.loose, iv)
	}
}

// The smallest range of a scale, and the limit to which an interval may widen it, so that
// one poor reading does not compress the others.
const (
	leastShown  = 12.0 // degrees
	looseAtMost = 30.0 // degrees on each side, or the range without the interval if larger
)

// Ends returns the two ends of the scale, with some room beyond the values shown. If fixed
// has a width, it returns fixed.
func (e *Extent) Ends(fixed [2]float64) (from, to float64) {
	if fixed[0] < fixed[1] {
		return fixed[0], fixed[1]
	}
	from, to = e.from, e.to
	more := max(looseAtMost, to-from)
	for _, iv := range e.loose {
		if !e.any {
			break
		}
		from = min(from, max(iv[0], e.from-more))
		to = max(to, min(iv[1], e.to+more))
	}
	if mid := (from + to) / 2; to-from < leastShown {
		from, to = mid-leastShown/2, mid+leastShown/2
	}
	room := 0.07 * (to - from)
	return from - room, to + room
}

// Closely returns the two ends without the minimum range of Ends, with the given share of
// the range as room on each side.
func (e *Extent) Closely(share float64) (from, to float64) {
	from, to = e.from, e.to
	for _, iv := range e.loose {
		from, to = min(from, iv[0]), max(to, iv[1])
	}
	if mid := (from + to) / 2; to-from < 0.5 {
		from, to = mid-0.25, mid+0.25
	}
	return from - share*(to-from), to + share*(to-from)
}
