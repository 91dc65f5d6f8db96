package draw

import "math"

// Scale lays degrees along a line: From at A, To at B. An upright one has A below B,
// which is the larger number.
type Scale struct{ From, To, A, B float64 }

// At returns where v degrees are on the line.
func (k Scale) At(v float64) float64 { return k.A + (k.B-k.A)*(v-k.From)/(k.To-k.From) }

// In reports whether v is on the scale.
func (k Scale) In(v float64) bool { return v >= k.From && v <= k.To }

// Keep returns v where it is on the scale, else the end that it lies beyond.
func (k Scale) Keep(v float64) float64 { return min(max(v, k.From), k.To) }

// PerUnit returns how long a degree, or what else it lays, is on the line.
func (k Scale) PerUnit() float64 { return math.Abs(k.B-k.A) / (k.To - k.From) }

// TickLong is the longest stroke of a scale, in text sizes.
const TickLong = 0.34

// Graduation is a stroke of a scale and its length; the long ones stand at round figures.
type Graduation struct{ At, Long float64 }

// Graduations returns the strokes of k beside text of the given size: at one, five and ten
// units, where those stand apart. The unit is a power of ten.
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

// Rounds returns round figures on k that stand at least gap apart.
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

// Extent gathers what a scale has to show.
type Extent struct {
	from, to float64
	any      bool
	loose    [][2]float64 // intervals, shown as far as they do not dwarf the rest
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

// Interval makes the scale show an interval unless that is very wide.
func (e *Extent) Interval(iv [2]float64) {
	if Known(iv) {
		e.loose = append(e.loose, iv)
	}
}

// The least that a scale shows, and by how much an interval may widen it, so that one
// bad picture does not squeeze the others.
const (
	leastShown  = 12.0 // degrees
	looseAtMost = 30.0 // degrees on each side, or as much as there is without it
)

// Ends returns the two ends of the scale with some room beyond what is shown, or fixed
// where that has a width.
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

// Closely returns the ends with a share of room on either side, however little is shown.
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
