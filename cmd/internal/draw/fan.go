package draw

import (
	"math"
	"strings"

	"ecart/cmd/internal/reading"
)

// Fan is the angle of a reading as it is drawn on its picture. Directions are in radians,
// clockwise from the x axis as seen.
type Fan struct {
	Apex   Point
	Radius float64
	First  float64 // direction of the first line
	Turn   float64 // +1 opens clockwise
	Sweep  float64 // degrees from the first line to the second, in the sense of Turn

	Arms    [2]Arm
	Carried *[2]Point  // if the two lines share no end: the first line's direction, drawn from the apex
	Wedges  []Wedge    // the interval, one wedge for each of sides
	Asked   [][2]Point // the asked angle, one line for each of sides

	sides []int // indices of the lines that move if the angle changes
}

// Arm is one of the two lines.
type Arm struct {
	From, To Point
	Fixed    bool // a plumb or level line, not one through landmarks
}

// Wedge is a sector between two directions about the apex.
type Wedge struct{ From, To, Radius float64 }

const (
	reach      = 0.74 // radius of the arc, in lengths of the shorter arm
	wedgeReach = 0.97 // radius of a wedge, in lengths of its arm
	overshoot  = 1.06 // length of the line at the asked angle, in lengths of its arm
)

// Sweep returns the angle between the two lines of r in the picture, in degrees, in the
// sense of r.Turn, unwrapped to be nearest to r.PictureAngleDeg.
func Sweep(r *reading.Reading) float64 {
	s := float64(r.Turn) * degrees(direction(r.Lines[1])-direction(r.Lines[0]))
	return s + 360*math.Round((r.PictureAngleDeg-s)/360)
}

func direction(l reading.Line) float64 { return math.Atan2(l.ToY-l.FromY, l.ToX-l.FromX) }

func degrees(rad float64) float64 { return rad * 180 / math.Pi }
func radians(deg float64) float64 { return deg * math.Pi / 180 }

// NewFan returns the fan of r. at maps pixels of the take to the drawing, with a uniform
// scale and no rotation; the arc's radius is between least and most. A reading with an
// unknown interval has no wedges.
func NewFan(r *reading.Reading, at func(x, y float64) Point, least, most float64) Fan {
	f := Fan{First: direction(r.Lines[0]), Turn: float64(r.Turn), Sweep: Sweep(r), sides: ends(r)}
	var length [2]float64
	for i, l := range r.Lines {
		f.Arms[i] = Arm{at(l.FromX, l.FromY), at(l.ToX, l.ToY), l.Fixed}
		length[i] = Norm(Sub(f.Arms[i].To, f.Arms[i].From))
	}
	for i := range length {
		if f.Arms[i].Fixed {
			length[i] = length[1-i]
		}
	}
	f.Apex = f.Arms[1].From
	f.Radius = min(max(reach*min(length[0], length[1]), least), most)
	for i, dir := range [2]float64{f.First, f.Towards(f.Sweep)} {
		if f.Arms[i].Fixed {
			f.Arms[i].To = Polar(f.Arms[i].From, 1.3*f.Radius, dir)
		}
	}
	if Norm(Sub(f.Arms[0].From, f.Apex)) > 0.5 {
		f.Carried = &[2]Point{f.Apex, Polar(f.Apex, 1.3*f.Radius, f.First)}
	}
	if lo, hi := max(r.IntervalDeg[0], r.AngleDeg-180), min(r.IntervalDeg[1], r.AngleDeg+180); Finite(lo, hi) {
		for _, side := range f.sides {
			f.Wedges = append(f.Wedges, Wedge{f.edge(side, f.seen(r, lo)), f.edge(side, f.seen(r, hi)), max(f.Radius, wedgeReach*length[side])})
		}
	}
	if r.Skill != nil {
		for _, side := range f.sides {
			long := max(overshoot*length[side], 1.25*f.Radius)
			f.Asked = append(f.Asked, [2]Point{f.Apex, Polar(f.Apex, long, f.edge(side, f.seen(r, r.AngleAt(0))))})
		}
	}
	return f
}

// Towards returns the direction at an angle of deg degrees from the first line.
func (f Fan) Towards(deg float64) float64 { return f.First + f.Turn*radians(deg) }

// Sector returns the outline of the angle's sector.
func (f Fan) Sector() []Point { return f.Slice(Wedge{f.First, f.Towards(f.Sweep), f.Radius}) }

// Slice returns the outline of a wedge: the apex, then the arc, a point per degree or less.
func (f Fan) Slice(w Wedge) []Point {
	n := 2 + int(math.Ceil(math.Abs(degrees(w.To-w.From))))
	pts := []Point{f.Apex}
	for i := 0; i <= n; i++ {
		pts = append(pts, Polar(f.Apex, w.Radius, w.From+(w.To-w.From)*float64(i)/float64(n)))
	}
	return pts
}

// Contains reports whether p lies in the angle's sector.
func (f Fan) Contains(p Point) bool {
	d := Sub(p, f.Apex)
	if Norm(d) > f.Radius {
		return false
	}
	turned := f.Turn * degrees(math.Atan2(d.Y, d.X)-f.First) * math.Copysign(1, f.Sweep)
	return math.Mod(turned+720, 360) <= math.Abs(f.Sweep)
}

// InWedge reports whether a direction lies in one of the wedges.
func (f Fan) InWedge(dir float64) bool {
	for _, w := range f.Wedges {
		mid, half := (w.From+w.To)/2, math.Abs(w.To-w.From)/2
		if math.Abs(math.Remainder(dir-mid, 2*math.Pi)) <= half {
			return true
		}
	}
	return false
}

// ends returns the indices of the lines that move if the angle changes: both if they end
// in the same part of the body (two legs that open), else the second, or the first if the
// second is fixed.
func ends(r *reading.Reading) []int {
	first, second := r.Lines[0], r.Lines[1]
	switch {
	case second.Fixed:
		return []int{0}
	case !first.Fixed && Part(first.To) == Part(second.To):
		return []int{0, 1}
	}
	return []int{1}
}

// Part returns a landmark without its side.
func Part(landmark string) string { return landmark[strings.LastIndex(landmark, "-")+1:] }

// edge returns the direction of line side at an angle of deg degrees. If both lines move,
// each turns by half of the change.
func (f Fan) edge(side int, deg float64) float64 {
	more := (deg - f.Sweep) / float64(len(f.sides))
	if side == 0 {
		return f.First - f.Turn*radians(more)
	}
	return f.Towards(f.Sweep + more)
}

// seen returns the angle in the picture for an angle in the plane of motion, by
// interpolation: the angle that was read appears as Sweep, and 0 and 180 degrees appear
// unchanged, because a straight line stays straight in any view. In between the difference
// decreases linearly.
func (f Fan) seen(r *reading.Reading, deg float64) float64 {
	off := f.Sweep - r.AngleDeg
	room := r.AngleDeg - 180*math.Floor(r.AngleDeg/180)
	if deg > r.AngleDeg {
		room = 180 - room
	}
	// Close to 0 and 180 degrees the difference is spread over a minimum range, so that
	// the map stays monotonic.
	room = max(room, 3*math.Abs(off))
	if room == 0 {
		return deg
	}
	return deg + off*max(0, 1-math.Abs(deg-r.AngleDeg)/room)
}
