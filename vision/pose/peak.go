package pose

import (
	"context"
	"math"
	"slices"
	"time"

	"ecart/geometry"
	"ecart/vision/take"
)

// Peak is the widest moment.
type Peak struct {
	Frame int           // the nearest to it
	Time  time.Duration // true time of the moment itself, between frames
	// SD is the standard deviation of the moment, in seconds, from how the angles of single frames scatter. Where Fall is
	// not known, it is that of a moment anywhere among the frames that were looked at. It holds no constant error.
	SD float64
	// Fall is how fast the angle falls about the moment: t seconds from it the angle is smaller by Fall/2 t^2, degrees a
	// second^2; 0 where it is not known to a half. It is known up to Reach, seconds, on both sides.
	Fall  float64
	Reach float64
	Body  *Body // smoothed, its legs on the axes of their outlines where these were found
	// Network is the same without the outlines.
	Network *Body
	// Legs are the axes of the left and the right leg by their outlines, nil where they
	// were not found.
	Legs [2]*Axis
	// Shanks reports that the ankle of a leg without an axis lies on that of its shank's outline.
	Shanks [2]bool
}

const (
	fine   = 8 // frames looked at on each side of the widest coarse moment
	nearby = 4 // frames on each side through which a place is smoothed
	// far is how many frames on each side are looked at where the top is too flat for fine. The network's angle of a
	// handstand scatters by 3 degrees from look to look. A top that falls by 430 degrees a second squared, looked at in
	// every second of 17 frames of 60 a second, is then known to 0.03 s, and how fast it falls to nine tenths. Through
	// all of these and as many farther ones it is 0.015 s and a third. Farther still, tops that rise faster than they fall are misread.
	far    = 2 * fine
	shifts = 2 // times that the frames looked at are moved towards the peak
	enough = 5 // angles through which a parabola goes
	atEnd  = 0.75
)

// peak looks at frames about the widest coarse moment, and finds the peak between them.
// Where another moment seemed wider than what is found there, it looks there too: the
// network is wholly wrong in single pictures.
func (f *Finder) peak(ctx context.Context, t *take.Take, out *Found, o Options) error {
	const (
		tries = 3
		wider = 3 // degrees
	)
	best := math.Inf(-1)
	every := max(1, stepOf(t)/fine)
	for try := range tries {
		k, value := out.widest(o.Angle)
		if k < 0 || value < best+wider {
			break
		}
		part := func(v float64) { o.tell(0.75 + 0.25*(float64(try)+v)/tries) }
		p, angle, err := f.about(ctx, t, out, o, k, every, part)
		if err != nil {
			return err
		}
		if p != nil && angle > best {
			out.Peak, best = p, angle
		}
	}
	if out.Peak == nil {
		return &Error{Problem: NoPeak}
	}
	out.finish()
	return nil
}

// about finds the peak near the k-th moment, and its angle; nil if no angle is known there.
func (f *Finder) about(ctx context.Context, t *take.Take, out *Found, o Options, k, every int, tell func(float64)) (peak *Peak, angle float64, err error) {
	first, last := o.span(t)
	middle := out.between(k, o.Angle)
	for range shifts + 1 {
		from, to := max(first, middle-fine*every), min(last, middle+fine*every)
		if err := f.fine(ctx, t, out, from, to, every, tell); err != nil {
			return nil, 0, err
		}
		for i := range out.Moments {
			if m := &out.Moments[i]; m.Frame >= from && m.Frame <= to || i == k {
				m.tried = true
			}
		}
		p, a := out.vertex(o.Angle, from, to)
		if p != nil && !p.outlined(out) {
			if err := f.lookLater(ctx, out, p.Frame-nearby*every, p.Frame+nearby*every); err != nil {
				return nil, 0, err
			}
			p, a = out.vertex(o.Angle, from, to)
		}
		if p == nil {
			return peak, angle, nil
		}
		if p.vague(t.TrueTime(to)-t.TrueTime(from), to-from) {
			wideFrom, wideTo := max(first, middle-far*every), min(last, middle+far*every)
			if err := f.fine(ctx, t, out, wideFrom, wideTo, 2*every, tell); err != nil {
				return nil, 0, err
			}
			if err := f.lookLater(ctx, out, wideFrom, wideTo); err != nil {
				return nil, 0, err
			}
			if q, b := out.vertex(o.Angle, wideFrom, wideTo); q != nil {
				p, a = q, b
			}
		}
		peak, angle = p, a
		if off := p.Frame - middle; abs(off) > int(atEnd*float64(fine*every)) && from > first && to < last {
			middle = p.Frame
			continue
		}
		break
	}
	return peak, angle, nil
}

// between is the frame in which the angle is widest by the k-th moment and those on both sides of it.
func (f *Found) between(k int, angle func(*Body) float64) int {
	m := f.Moments[k]
	if k == 0 || k == len(f.Moments)-1 {
		return m.Frame
	}
	var x, y []float64
	for _, n := range f.Moments[k-1 : k+2] {
		if n.Body == nil || n.support < supported {
			return m.Frame
		}
		x, y = append(x, float64(n.Frame-m.Frame)), append(y, angle(n.Body))
	}
	// the vertex of the parabola through the three
	before, after := (y[1]-y[0])/-x[0], (y[2]-y[1])/x[2]
	if !(before >= 0 && after <= 0 && before > after) { // or not known
		return m.Frame
	}
	at := (x[0] + before*(x[2]-x[0])/(before-after)) / 2
	return m.Frame + int(math.Round(math.Min(math.Max(at, x[0]/2), x[2]/2)))
}

// vague reports whether the moment may well be neither in the nearest frame nor beside it, or how fast the angle falls about
// it is not known; so many frames take that long.
func (p *Peak) vague(long time.Duration, frames int) bool {
	return p.Fall == 0 || p.SD*float64(frames) > 1.5*long.Seconds()
}

// outlined reports whether both legs have the axes of their outlines in the frame of the peak.
func (p *Peak) outlined(f *Found) bool {
	m, ok := f.at(p.Frame)
	return ok && m.axes[0] != nil && m.axes[1] != nil
}

// widest is the index of the moment with the largest angle among those that were not
// looked at more closely, and that angle; -1 if no angle is known. Bodies that do not lie
// on what stands before the ground do not count.
func (f *Found) widest(angle func(*Body) float64) (at int, value float64) {
	at, value = -1, math.Inf(-1)
	for i := range f.Moments {
		m := &f.Moments[i]
		if m.Body == nil || m.tried || m.support < supported {
			continue
		}
		if a := angle(m.Body); a > value { // false of NaN
			at, value = i, a
		}
	}
	return at, value
}

// fine takes each every-th frame from one to another, and looks at every second of these: the legs' outlines need the
// picture alone. Of the others it keeps the square, to be looked at where outlines do not suffice (lookLater).
func (f *Finder) fine(ctx context.Context, t *take.Take, out *Found, from, to, every int, tell func(float64)) error {
	known := map[int]bool{}
	for _, m := range out.Moments {
		if m.fine {
			known[m.Frame] = true
		}
	}
	var added []Moment
	n, of := 0, (to-from)/every+1
	err := t.Span(ctx, from, to, func(p *take.Frame) error {
		if p.Index%every != 0 || known[p.Index] || p.Damaged {
			return nil
		}
		n++
		tell(float64(n) / float64(of+1))
		q, ok := out.squareAt(p.Index)
		if !ok {
			return nil
		}
		k := p.Index / every
		q = q.varied(k)
		m := Moment{Frame: p.Index, Time: t.TrueTime(p.Index), fine: true}
		if out.Still {
			m.picture = shrink(p, p.Bounds(), out.ground.by)
		}
		coarse, seen := out.at(p.Index)
		switch {
		case k%2 == 0:
			b, err := f.follow(ctx, p, q, 2)
			if err != nil {
				return err
			}
			if m.Body = b; b == nil && seen {
				m.Body = coarse.Body
			}
		case seen:
			m.Body = coarse.Body
		default:
			m.later = &unseen{q, q.cut(p)}
		}
		m.support = out.supportOf(m.Body, m.picture)
		added = append(added, m)
		return nil
	})
	if err != nil {
		return err
	}
	for _, m := range added { // in place of what the small picture showed
		out.Moments = slices.DeleteFunc(out.Moments, func(o Moment) bool { return o.Frame == m.Frame })
	}
	out.Moments = append(out.Moments, added...)
	slices.SortFunc(out.Moments, func(a, b Moment) int { return a.Frame - b.Frame })
	return nil
}

// at is the moment of a frame.
func (f *Found) at(frame int) (*Moment, bool) {
	i := slices.IndexFunc(f.Moments, func(m Moment) bool { return m.Frame == frame })
	if i < 0 {
		return nil, false
	}
	return &f.Moments[i], true
}

// unseen is a square that may be looked at later.
type unseen struct {
	square
	rgb []byte
}

// lookLater looks at the squares that fine kept, from one frame to another.
func (f *Finder) lookLater(ctx context.Context, out *Found, from, to int) error {
	for i := range out.Moments {
		m := &out.Moments[i]
		if m.later == nil || m.Frame < from || m.Frame > to {
			continue
		}
		b, err := f.lookAt(ctx, m.later.square, m.later.rgb)
		if err != nil {
			return err
		}
		m.later = nil
		if b.Person >= person && b.score() >= believed {
			m.Body, m.support = b, out.supportOf(b, m.picture)
		}
	}
	return nil
}

// squareAt is the square in a frame, between those of the moments on both sides of it.
func (f *Found) squareAt(frame int) (square, bool) {
	var before, after *Moment
	for i := range f.Moments {
		m := &f.Moments[i]
		if m.Body == nil {
			continue
		}
		if m.Frame <= frame {
			before = m
		} else {
			after = m
			break
		}
	}
	switch {
	case before == nil && after == nil:
		return square{}, false
	case before == nil:
		return after.Body.next(), true
	case after == nil:
		return before.Body.next(), true
	}
	a, b := before.Body.next(), after.Body.next()
	k := float64(frame-before.Frame) / float64(after.Frame-before.Frame)
	turn := math.Remainder(float64(b.turn-a.turn), 2*math.Pi)
	return square{centre: a.centre.Add(b.centre.Sub(a.centre).Scale(k)), side: a.side + k*(b.side-a.side), turn: a.turn + geometry.Angle(k*turn)}, true
}

// vertex smooths the frames from one to another, and returns the peak of a parabola through the angles of the frames that were looked at,
// and the angle of the frame nearest to it; nil if no angle is known. Where most frames have the axes
// of both legs, only these count: beside them, the network's own angles lie to one side.
func (f *Found) vertex(angle func(*Body) float64, from, to int) (*Peak, float64) {
	f.keepSides()
	f.smoothAll(from, to)
	type known struct {
		m     *Moment
		angle float64
	}
	var all, exact []known
	for i := range f.Moments {
		m := &f.Moments[i]
		if m.smooth == nil || m.Frame < from || m.Frame > to || m.lost && (m.axes[0] == nil || m.axes[1] == nil) {
			continue
		}
		if a := angle(m.smooth); a == a {
			all = append(all, known{m, a})
			if m.axes[0] != nil && m.axes[1] != nil {
				exact = append(exact, all[len(all)-1])
			}
		}
	}
	outlines := len(exact) >= enough && 2*len(exact) > len(all)
	if outlines {
		all = exact
	}
	if len(all) == 0 {
		return nil, 0
	}
	var c curve
	for _, k := range all {
		at := k.m.Time.Seconds()
		c.x, c.y = append(c.x, at), append(c.y, k.angle)
		if b := f.alone(k.m, outlines); b != nil {
			if a := angle(b); a == a {
				c.single = append(c.single, [2]float64{at, a})
			}
		}
	}
	v := c.top()
	near := all[0]
	for _, k := range all {
		if math.Abs(k.m.Time.Seconds()-v.at) < math.Abs(near.m.Time.Seconds()-v.at) {
			near = k
		}
	}
	return &Peak{Frame: near.m.Frame, Time: time.Duration(v.at * float64(time.Second)), SD: v.sd, Fall: v.fall, Reach: v.reach}, near.angle
}

// alone is the body at a moment by its own picture, not smoothed: by the outlines of both legs, or as the network sees it.
// It is nil where the picture does not give it.
func (f *Found) alone(m *Moment, outlines bool) *Body {
	switch {
	case !outlines && m.support >= supported:
		return m.Body
	case !outlines || m.legs[0] == nil || m.legs[1] == nil:
		return nil
	}
	b := *m.network
	if f.ownHips {
		b.straightenEach(m.legs)
	} else {
		b.straighten(m.legs)
	}
	return &b
}

// curve is an angle over time, in order of time: smoothed, degrees y at x seconds, and of single frames (time, angle), whose
// scatter says how well the top is known.
type curve struct {
	x, y   []float64
	single [][2]float64
}

// summit is where a curve is highest, with its standard deviation; fall and reach are as in [Peak].
type summit struct{ at, sd, fall, reach float64 }

// top is the summit of a curve: the vertex of a parabola through all smoothed values, and then of one
// through those within two thirds of that from it, since a movement opens and closes at different speeds. Where there is
// no vertex it is the highest value. Where no top is sure, sd is that of a moment anywhere.
func (c *curve) top() (s summit) {
	x, y := c.x, c.y
	for i := range y {
		if y[i] == slices.Max(y) {
			s.at = x[i]
		}
	}
	from, to := x[0], x[len(x)-1]
	anywhere := (to - from) / math.Sqrt(12)
	s.sd = anywhere
	reach := (to - from) / 3
	for range 3 {
		var rel, value []float64
		for i := range x {
			if x[i] >= from && x[i] <= to {
				rel, value = append(rel, x[i]-s.at), append(value, y[i])
			}
		}
		if len(rel) < enough {
			return s
		}
		p := fitParabola(rel, value)
		if p.c >= 0 {
			return s
		}
		vertex := -p.b / (2 * p.c)
		held := math.Min(math.Max(vertex, rel[0]), rel[len(rel)-1])
		slope, bend := c.scatter(p, s.at, from, to)
		s.at += held
		s.sd, s.fall, s.reach = anywhere, 0, 0
		// else the curve rises on at one end of what is known, or its fall may be none
		if held == vertex && 2*bend < -p.c {
			s.sd = math.Min(slope/(2*-p.c), anywhere)
			s.fall, s.reach = -2*p.c, math.Min(vertex-rel[0], rel[len(rel)-1]-vertex)
		}
		from, to = s.at-reach, s.at+reach
	}
	return s
}

// scatter is the standard deviations of the slope b and of the bend c of a parabola about a time, from how the single
// angles from one time to another scatter about it; infinite where there are too few.
func (c *curve) scatter(p parabola, about, from, to float64) (slope, bend float64) {
	var x, off []float64
	for _, v := range c.single {
		if v[0] >= from && v[0] <= to {
			x = append(x, v[0]-about)
			off = append(off, v[1]-p.at(v[0]-about))
		}
	}
	if len(x) < enough {
		return math.Inf(1), math.Inf(1)
	}
	// the smoothed curve may run beside the single angles
	mid := median(slices.Clone(off))
	for i := range off {
		off[i] = math.Abs(off[i] - mid)
	}
	sd := 1.4826 * median(off) // of a normal scatter
	var mean, squares, mean2, squares2 float64
	n := float64(len(x))
	for _, v := range x {
		mean, mean2 = mean+v/n, mean2+v*v/n
	}
	for _, v := range x {
		squares += (v - mean) * (v - mean)
		squares2 += (v*v - mean2) * (v*v - mean2)
	}
	return sd / math.Sqrt(squares), sd / math.Sqrt(squares2)
}
