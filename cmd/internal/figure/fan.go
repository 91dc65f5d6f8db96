package figure

import (
	"math"
	"strings"

	"ecart/cmd/internal/reading"
)

// fan is the angle as it is drawn on a picture, in the picture's pixels. Angles
// of directions are in radians, clockwise from the x axis as seen (y is down).
type fan struct {
	Apex   point
	Radius float64
	First  float64 // direction of the first line
	Turn   float64 // +1 opens clockwise
	Sweep  float64 // degrees from the first line to the second, in the sense of Turn

	Arms    [2]arm
	Carried *[2]point // the first line drawn on, where the two share no end
	Wedges  []wedge   // the interval
	Asked   [][2]point
	AskedAt float64 // degrees, with the sign it is drawn at

	sides []int // which lines stand for the angle's end
}

// arm is one of the two lines.
type arm struct {
	From, To point
	Fixed    bool
}

// wedge is a sector between two directions about the apex.
type wedge struct{ From, To, Radius float64 }

const (
	reach      = 0.74 // the arc's radius in lengths of the shorter arm
	wedgeReach = 0.97 // a wedge's radius in lengths of its arm
	overshoot  = 1.06 // a dashed line's length in lengths of its arm
)

// sweepOf returns the angle in degrees that the two lines of r show, in the sense
// of its turn, unwrapped to lie nearest to the angle that r says they show.
func sweepOf(r *reading.Reading) float64 {
	a := direction(r.Lines[0])
	b := direction(r.Lines[1])
	s := float64(r.Turn) * degrees(b-a)
	return s + 360*math.Round((r.PictureAngleDeg-s)/360)
}

func direction(l reading.Line) float64 { return math.Atan2(l.ToY-l.FromY, l.ToX-l.FromX) }

func degrees(rad float64) float64 { return rad * 180 / math.Pi }
func radians(deg float64) float64 { return deg * math.Pi / 180 }

// planFan lays the fan out on a print of the given size that shows the take as v
// says; t is the text size.
func planFan(r *reading.Reading, v view, size point, t float64) fan {
	f := fan{First: direction(r.Lines[0]), Turn: float64(r.Turn), Sweep: sweepOf(r)}
	var length [2]float64
	for i, l := range r.Lines {
		f.Arms[i] = arm{From: v.at(l.FromX, l.FromY), To: v.at(l.ToX, l.ToY), Fixed: l.Fixed}
		length[i] = f.Arms[i].To.sub(f.Arms[i].From).norm()
	}
	for i := range length {
		if f.Arms[i].Fixed {
			length[i] = length[1-i]
		}
	}
	f.Apex = f.Arms[1].From
	f.Radius = min(max(reach*min(length[0], length[1]), 1.8*t), 0.42*max(size.X, size.Y))
	second := f.towards(f.Sweep)
	for i, dir := range [2]float64{f.First, second} {
		if f.Arms[i].Fixed {
			f.Arms[i].To = f.Arms[i].From.polar(1.3*f.Radius, dir)
		}
	}
	if f.Arms[0].From.sub(f.Apex).norm() > 0.5 {
		f.Carried = &[2]point{f.Apex, f.Apex.polar(1.3*f.Radius, f.First)}
	}

	f.sides = ends(r)
	lo, hi := f.seen(r, max(r.IntervalDeg[0], r.AngleDeg-180)), f.seen(r, min(r.IntervalDeg[1], r.AngleDeg+180))
	for _, side := range f.sides {
		f.Wedges = append(f.Wedges, wedge{f.edge(side, lo), f.edge(side, hi), max(f.Radius, wedgeReach*length[side])})
	}
	if r.Skill != nil {
		f.AskedAt = r.Skill.ThresholdDeg
		if r.Skill.AtMost && r.AngleDeg < 0 {
			f.AskedAt = -f.AskedAt
		}
		for _, side := range f.sides {
			long := max(overshoot*length[side], 1.25*f.Radius)
			f.Asked = append(f.Asked, [2]point{f.Apex, f.Apex.polar(long, f.edge(side, f.seen(r, f.AskedAt)))})
		}
	}
	return f
}

// towards returns the direction of an angle laid off from the first line.
func (f fan) towards(deg float64) float64 { return f.First + f.Turn*radians(deg) }

// ends returns which lines stand for the angle's end: both where they are the same
// part of the body on either side (two legs open alike), else the second, or the
// first where the second is fixed.
func ends(r *reading.Reading) []int {
	first, second := r.Lines[0], r.Lines[1]
	switch {
	case second.Fixed:
		return []int{0}
	case !first.Fixed && part(first.To) == part(second.To):
		return []int{0, 1}
	}
	return []int{1}
}

// part is a landmark without its side.
func part(landmark string) string { return landmark[strings.LastIndex(landmark, "-")+1:] }

// edge returns the direction of line side when the angle is deg: both lines turn
// alike about the middle of the angle where both stand for it, else one turns.
func (f fan) edge(side int, deg float64) float64 {
	more := deg - f.Sweep
	more /= float64(len(f.sides))
	if side == 0 {
		return f.First - f.Turn*radians(more)
	}
	return f.towards(f.Sweep + more)
}

// seen returns how an angle of the plane of motion looks on the picture, as far as
// the reading tells. The angle read looks as its lines do; an angle of 0 or 180
// looks like itself from wherever it is seen, because a straight line stays
// straight. Between them the difference falls off evenly.
func (f fan) seen(r *reading.Reading, deg float64) float64 {
	off := f.Sweep - r.AngleDeg
	below := 180 * math.Floor(r.AngleDeg/180)
	room := r.AngleDeg - below
	if deg > r.AngleDeg {
		room = 180 - room
	}
	// Close to 0 and 180 the difference needs some room, so that angles keep their
	// order and their width.
	room = max(room, 3*math.Abs(off))
	if room == 0 {
		return deg
	}
	return deg + off*max(0, 1-math.Abs(deg-r.AngleDeg)/room)
}
