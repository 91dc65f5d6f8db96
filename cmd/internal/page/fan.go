package page

import (
	"fmt"
	"math"
	"strings"

	"ecart/cmd/internal/reading"
)

// fan is the angle as it is drawn over the picture, in the picture's pixels: SVG
// path data, ready to be scaled.
type fan struct {
	Sector   string    `json:"sector"`  // from the first line to the second
	Edge     string    `json:"edge"`    // the sector's arc
	Arms     []string  `json:"arms"`    // the two lines
	Wedges   []string  `json:"wedges"`  // the interval, at the lines that stand for the angle's end
	Asked    []string  `json:"asked"`   // where those lines would be
	Carried  string    `json:"carried"` // the first line drawn on, where the two share no end
	Ellipses []ellipse `json:"ellipses"`
}

// ellipse holds 95 % of where a landmark is. Tilt is in degrees, clockwise as
// seen, as SVG turns.
type ellipse struct {
	Landmark string  `json:"landmark"`
	X        float64 `json:"x"`
	Y        float64 `json:"y"`
	Long     float64 `json:"long"`
	Short    float64 `json:"short"`
	Tilt     float64 `json:"tilt"`
}

const (
	reach      = 0.74 // the arc's radius in lengths of the shorter arm
	wedgeReach = 0.97 // a wedge's radius in lengths of its arm
	overshoot  = 1.06 // a dashed line's length in lengths of its arm
)

type dot struct{ X, Y float64 }

func (p dot) polar(r, dir float64) dot { return dot{p.X + r*math.Cos(dir), p.Y + r*math.Sin(dir)} }

// plan is the fan's geometry. Directions are in radians, clockwise from the x
// axis as seen (y is down); Sweep is in degrees, in the sense of Turn.
type plan struct {
	apex               dot
	radius             float64
	first, turn, sweep float64
	length             [2]float64
	sides              []int // which lines stand for the angle's end
	r                  *reading.Reading
}

// fanOf lays the fan out. A reading without an interval has no wedges.
func fanOf(r *reading.Reading) fan {
	p := plan{r: r, turn: float64(r.Turn), first: direction(r.Lines[0]), sides: ends(r)}
	p.sweep = p.turn * degrees(direction(r.Lines[1])-p.first)
	p.sweep += 360 * math.Round((r.PictureAngleDeg-p.sweep)/360)
	for i, l := range r.Lines {
		p.length[i] = math.Hypot(l.ToX-l.FromX, l.ToY-l.FromY)
	}
	for i, l := range r.Lines {
		if l.Fixed {
			p.length[i] = p.length[1-i]
		}
	}
	p.apex = dot{r.Lines[1].FromX, r.Lines[1].FromY}
	p.radius = reach * min(p.length[0], p.length[1])
	f := fan{Arms: []string{}, Wedges: []string{}, Asked: []string{}, Ellipses: []ellipse{}}
	f.Sector, f.Edge = p.sector(p.first, p.sweep, p.radius), p.arc(p.first, p.sweep, p.radius)
	for i, l := range r.Lines {
		from := dot{l.FromX, l.FromY}
		to := dot{l.ToX, l.ToY}
		if l.Fixed {
			to = from.polar(1.3*p.radius, direction(l))
		}
		f.Arms = append(f.Arms, line(from, to))
		if i == 0 && math.Hypot(from.X-p.apex.X, from.Y-p.apex.Y) > 0.5 {
			f.Carried = line(p.apex, p.apex.polar(1.3*p.radius, p.first))
		}
	}
	p.interval(&f)
	p.asked(&f)
	for _, m := range r.Marks {
		f.Ellipses = append(f.Ellipses, ellipseOf(m))
	}
	return f
}

func (p *plan) interval(f *fan) {
	lo, hi := max(p.r.IntervalDeg[0], p.r.AngleDeg-180), min(p.r.IntervalDeg[1], p.r.AngleDeg+180)
	if math.IsNaN(lo) || math.IsNaN(hi) {
		return
	}
	lo, hi = p.seen(lo), p.seen(hi)
	for _, side := range p.sides {
		from := p.edge(side, lo)
		to := p.edge(side, hi)
		turn := p.turn
		p.turn = 1
		f.Wedges = append(f.Wedges, p.sector(from, degrees(to-from), max(p.radius, wedgeReach*p.length[side])))
		p.turn = turn
	}
}

func (p *plan) asked(f *fan) {
	if p.r.Skill == nil {
		return
	}
	at := p.r.Skill.ThresholdDeg
	if p.r.Skill.AtMost && p.r.AngleDeg < 0 {
		at = -at
	}
	for _, side := range p.sides {
		long := max(overshoot*p.length[side], 1.25*p.radius)
		f.Asked = append(f.Asked, line(p.apex, p.apex.polar(long, p.edge(side, p.seen(at)))))
	}
}

// edge is the direction of line side when the angle is deg: both lines turn alike
// about the middle of the angle where both stand for it, else one turns.
func (p *plan) edge(side int, deg float64) float64 {
	more := (deg - p.sweep) / float64(len(p.sides))
	if side == 0 {
		return p.first - p.turn*radians(more)
	}
	return p.first + p.turn*radians(p.sweep+more)
}

// seen is how an angle of the plane of motion looks on the picture, as far as the
// reading tells: the angle read looks as its lines do, 0 and 180 look like
// themselves from wherever they are seen, and between them the difference falls
// off evenly.
func (p *plan) seen(deg float64) float64 {
	off := p.sweep - p.r.AngleDeg
	room := p.r.AngleDeg - 180*math.Floor(p.r.AngleDeg/180)
	if deg > p.r.AngleDeg {
		room = 180 - room
	}
	room = max(room, 3*math.Abs(off)) // so that angles keep their order and their width
	if room == 0 {
		return deg
	}
	return deg + off*max(0, 1-math.Abs(deg-p.r.AngleDeg)/room)
}

// sector is a slice from a direction on, over sweep degrees in the sense of turn.
func (p *plan) sector(from, sweep, radius float64) string {
	return fmt.Sprintf("M%s L%sZ", xy(p.apex), strings.TrimPrefix(p.arc(from, sweep, radius), "M"))
}

// arc is drawn in parts below half a turn, which leaves SVG no choice of way.
func (p *plan) arc(from, sweep, radius float64) string {
	n := int(math.Abs(sweep)/120) + 1
	to := 0
	if p.turn*sweep > 0 {
		to = 1
	}
	var b strings.Builder
	fmt.Fprintf(&b, "M%s", xy(p.apex.polar(radius, from)))
	for i := 1; i <= n; i++ {
		end := p.apex.polar(radius, from+p.turn*radians(sweep*float64(i)/float64(n)))
		fmt.Fprintf(&b, " A%.2f %.2f 0 0 %d %s", radius, radius, to, xy(end))
	}
	return b.String()
}

func line(a, b dot) string { return fmt.Sprintf("M%s L%s", xy(a), xy(b)) }
func xy(p dot) string      { return fmt.Sprintf("%.2f %.2f", p.X, p.Y) }

func direction(l reading.Line) float64 { return math.Atan2(l.ToY-l.FromY, l.ToX-l.FromX) }
func degrees(rad float64) float64      { return rad * 180 / math.Pi }
func radians(deg float64) float64      { return deg * math.Pi / 180 }

// ends returns which lines stand for the angle's end: both where they are the same
// part of the body on either side (two legs open alike), else the second, or the
// first where the second is fixed.
func ends(r *reading.Reading) []int {
	first, second := r.Lines[0], r.Lines[1]
	part := func(landmark string) string { return landmark[strings.LastIndex(landmark, "-")+1:] }
	switch {
	case second.Fixed:
		return []int{0}
	case !first.Fixed && part(first.To) == part(second.To):
		return []int{0, 1}
	}
	return []int{1}
}

// ellipse95 is how many standard deviations the ellipse that holds 95 % of a
// two-dimensional normal distribution reaches: sqrt(-2 ln 0.05).
var ellipse95 = math.Sqrt(-2 * math.Log(0.05))

func ellipseOf(m reading.Mark) ellipse {
	a, b, d := m.Covariance[0][0], (m.Covariance[0][1]+m.Covariance[1][0])/2, m.Covariance[1][1]
	mean, half := (a+d)/2, math.Hypot((a-d)/2, b)
	return ellipse{m.Landmark, m.X, m.Y, ellipse95 * math.Sqrt(max(0, mean+half)), ellipse95 * math.Sqrt(max(0, mean-half)),
		degrees(math.Atan2(2*b, a-d) / 2)}
}
