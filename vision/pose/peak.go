package pose

import (
	"context"
	"math"
	"slices"
	"time"

	"ecart/vision/take"
)

// Peak is the widest moment of a clip or leap.
type Peak struct {
	Frame int           // nearest to the moment
	Time  time.Duration // true time of the moment itself, between frames
	// SD is the standard deviation of the moment, in seconds, from how the angles of single frames scatter. Where Fall is
	// not known, it is that of a moment anywhere among the frames that were looked at. It holds no constant error.
	SD float64
	// Fall is the curvature of the fall of the angle about the moment, in degrees a second^2: t seconds from the moment the
	// angle is smaller by Fall/2 t^2. It holds up to Reach, seconds, on both sides. It is 0 where it is not known: where its
	// standard deviation is half of it or more.
	Fall  float64
	Reach float64
	// Followed reports that the angle about the moment comes from pixels alone: from outlines, or from parts of the body that are
	// followed from frame to frame. Else it has the network's errors, which change over the frames.
	Followed bool
	Body     *Body // smoothed, its legs on the axes of their outlines where these were found
	// Network is the smoothed body without the outlines of legs.
	Network *Body
	// Legs are the axes of the left and the right leg by their outlines, nil where they
	// were not found.
	Legs [2]*Axis
	// Shanks reports, for each leg without an axis, whether its ankle lies on the axis of the shank's outline.
	Shanks [2]bool
}

const (
	fineFrames   = 8 // frames looked at on each side of the widest coarse moment
	smoothFrames = 4 // frames on each side through which a place is smoothed
	// farFrames is the number of frames on each side where the peak is too flat for fineFrames. The network's angle of a
	// handstand scatters by 3 degrees from look to look. For a Fall of 430 degrees a second^2, looks at
	// every second of 17 frames at 60 frames a second give the moment to 0.03 s and Fall to nine tenths of itself. Looks at
	// all of these and as many farther ones give 0.015 s and a third. With more frames still, peaks that rise faster than they
	// fall are misplaced.
	farFrames   = 2 * fineFrames
	mostShifts  = 2    // limit of moves of the range of frames towards the peak
	leastAngles = 5    // of a parabola
	shiftBeyond = 0.75 // part of fineFrames: a peak farther from the middle moves the range
)

// findPeak looks at frames about the widest coarse moment, and finds the peak between them.
// Where another coarse moment is wider than the peak found, it looks there too, since the
// network is wholly wrong in single pictures.
func (f *Finder) findPeak(ctx context.Context, t *take.Take, out *Found, o Options) error {
	const (
		tries = 3
		wider = 3 // degrees
	)
	best := math.Inf(-1)
	every := max(1, stepOf(t)/fineFrames)
	for try := range tries {
		k, value := out.widest(o.Angle)
		if k < 0 || value < best+wider {
			break
		}
		report := func(v float64) { o.report(0.75 + 0.25*(float64(try)+v)/tries) }
		p, angle, err := f.peakNear(ctx, t, out, o, k, every, report)
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

// peakNear finds the peak near the k-th moment, and its angle, degrees; nil if no angle is known there.
func (f *Finder) peakNear(ctx context.Context, t *take.Take, out *Found, o Options, k, every int, report func(float64)) (peak *Peak, angle float64, err error) {
	first, last := o.span(t)
	middle := out.frameOfVertex(k, o.Angle)
	for range mostShifts + 1 {
		from, to := max(first, middle-fineFrames*every), min(last, middle+fineFrames*every)
		if err := f.lookFinely(ctx, t, out, from, to, every, report); err != nil {
			return nil, 0, err
		}
		for i := range out.Moments {
			if m := &out.Moments[i]; m.Frame >= from && m.Frame <= to || i == k {
				m.tried = true
			}
		}
		p, a := out.fitPeak(o.Angle, from, to)
		if p != nil && !p.Followed {
			if err := f.lookLater(ctx, out, p.Frame-smoothFrames*every, p.Frame+smoothFrames*every); err != nil {
				return nil, 0, err
			}
			p, a = out.fitPeak(o.Angle, from, to)
		}
		if p == nil {
			return peak, angle, nil
		}
		if p.poorlyKnown(t.TrueTime(to)-t.TrueTime(from), to-from) {
			wideFrom, wideTo := max(first, middle-farFrames*every), min(last, middle+farFrames*every)
			if err := f.lookFinely(ctx, t, out, wideFrom, wideTo, 2*every, report); err != nil {
				return nil, 0, err
			}
			if !p.Followed {
				if err := f.lookLater(ctx, out, wideFrom, wideTo); err != nil {
					return nil, 0, err
				}
			}
			if q, b := out.fitPeak(o.Angle, wideFrom, wideTo); q != nil {
				p, a = q, b
			}
		}
		peak, angle = p, a
		if off := p.Frame - middle; abs(off) > int(shiftBeyond*float64(fineFrames*every)) && from > first && to < last {
			middle = p.Frame
			continue
		}
		break
	}
	return peak, angle, nil
}

// frameOfVertex returns the frame in which the angle is widest by a parabola through the k-th moment and its two neighbours,
// at most half-way to either; the k-th moment's own where these do not give a maximum.
func (f *Found) frameOfVertex(k int, angle func(*Body) float64) int {
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
	if !(before >= 0 && after <= 0 && before > after) { // no maximum, or NaN
		return m.Frame
	}
	at := (x[0] + before*(x[2]-x[0])/(before-after)) / 2
	return m.Frame + int(math.Round(math.Min(math.Max(at, x[0]/2), x[2]/2)))
}

// poorlyKnown reports whether Fall is not known, or the standard deviation of the moment is more than 1.5 frames. A range of
// so many frames takes that long.
func (p *Peak) poorlyKnown(long time.Duration, frames int) bool {
	return p.Fall == 0 || p.SD*float64(frames) > 1.5*long.Seconds()
}

// widest returns the index of the moment with the largest angle among those that were not
// tried yet, and that angle, degrees; -1 if no angle is known. Bodies that do not lie
// on the foreground do not count.
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

// fitPeak smooths the frames from..to, and returns the peak of a parabola through the angles of their moments,
// and the angle of the frame nearest to it, degrees; nil if no angle is known. Where most frames have the axes
// of both legs, only these count: the network's own angles are biased against them. Else, where the body is followed in most
// frames, only these do.
func (f *Found) fitPeak(angle func(*Body) float64, from, to int) (*Peak, float64) {
	f.keepSides()
	f.smoothAll(from, to)
	type known struct {
		m     *Moment
		angle float64
	}
	var all, exact, followed []known
	for i := range f.Moments {
		m := &f.Moments[i]
		if m.smooth == nil || m.Frame < from || m.Frame > to || m.lost && (m.axes[0] == nil || m.axes[1] == nil) {
			continue
		}
		if a := angle(m.smooth); a == a {
			all = append(all, known{m, a})
			if m.axes[0] != nil && m.axes[1] != nil {
				exact = append(exact, all[len(all)-1])
			} else if m.followed {
				followed = append(followed, all[len(all)-1])
			}
		}
	}
	outlines := len(exact) >= leastAngles && 2*len(exact) > len(all)
	if outlines {
		all = exact
	} else if len(followed) >= leastAngles && 2*len(followed) > len(all) {
		all = followed
	}
	if len(all) == 0 {
		return nil, 0
	}
	var c curve
	fromPixels := true
	for _, k := range all {
		at := k.m.Time.Seconds()
		c.x, c.y = append(c.x, at), append(c.y, k.angle)
		if b := f.singleBody(k.m, outlines); b != nil {
			if a := angle(b); a == a {
				c.single = append(c.single, [2]float64{at, a})
				fromPixels = fromPixels && (outlines || math.Abs(a-k.angle) < 1e-6) // else the network's places are in it
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
	return &Peak{Frame: near.m.Frame, Time: time.Duration(v.at * float64(time.Second)), SD: v.sd, Fall: v.fall, Reach: v.reach, Followed: fromPixels && len(c.single) > 0}, near.angle
}

// singleBody returns the body of a single frame, for the scatter between frames: where outlines is set, with its legs on
// the axes of this frame, else the network's, with the places that the pixels gave. It is nil where the frame does not give it.
func (f *Found) singleBody(m *Moment, outlines bool) *Body {
	if outlines && (m.legs[0] == nil || m.legs[1] == nil) || !outlines && m.support < supported {
		return nil
	}
	if !outlines {
		return m.partlyFollowed()
	}
	b := *m.network
	if f.ownHips {
		b.straightenEach(m.legs)
	} else {
		b.straighten(m.legs)
	}
	return &b
}

// curve is an angle over time, in order of time.
type curve struct {
	x, y   []float64    // seconds, and smoothed angles, degrees
	single [][2]float64 // seconds, and angles of single frames, degrees; their scatter gives the standard deviations
}

// summit is the maximum of a curve: its time at and the standard deviation sd of that, seconds. fall and reach are as in
// [Peak].
type summit struct{ at, sd, fall, reach float64 }

// A parabola misplaces the top of a movement that opens and closes at different speeds, by some 0.005 to 0.012 s in leaps. A cubic
// does not, and gives the slope of evenly spaced values with 2.5 times the standard deviation: of 1/n times the square of an orthogonal
// polynomial's slope, 3 from the first and 7 (3/2)^2 from the third. It is used where that moves the top by mostCubic or less.
const (
	cubicSlope = 2.5
	mostCubic  = 0.01 // s
)

// top returns the summit of a curve: the vertex of a parabola through all smoothed values, then of
// parabolas through the values within a third of the whole time on each side of the vertex before, or of cubics where the values
// scatter little. Where there is no vertex, at is the highest value. Where no maximum is certain, sd is that of
// a moment anywhere in the time, all equally likely.
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
		if len(rel) < leastAngles {
			return s
		}
		p := fitParabola(rel, value)
		if p.c >= 0 {
			return s
		}
		vertex := -p.b / (2 * p.c)
		slope, bend := c.scatter(p, s.at, from, to)
		if q := fitRobust(rel, value, 4); cubicSlope*slope <= mostCubic*2*-p.c && q.c < 0 && q.c*q.c > 3*q.b*q.d {
			vertex, slope = -q.b/(q.c-math.Sqrt(q.c*q.c-3*q.b*q.d)), cubicSlope*slope
		}
		held := math.Min(math.Max(vertex, rel[0]), rel[len(rel)-1])
		s.at += held
		s.sd, s.fall, s.reach = anywhere, 0, 0
		// otherwise the curve still rises at one end, or its bend may be 0
		if held == vertex && 2*bend < -p.c {
			s.sd = math.Min(slope/(2*-p.c), anywhere)
			s.fall, s.reach = -2*p.c, math.Min(vertex-rel[0], rel[len(rel)-1]-vertex)
		}
		from, to = s.at-reach, s.at+reach
	}
	return s
}

// scatter returns the standard deviations of the slope b and of the bend c of a parabola about a time, from the scatter
// of the single angles from..to about it; +Inf where there are too few.
func (c *curve) scatter(p parabola, about, from, to float64) (slope, bend float64) {
	var x, off []float64
	for _, v := range c.single {
		if v[0] >= from && v[0] <= to {
			x = append(x, v[0]-about)
			off = append(off, v[1]-p.at(v[0]-about))
		}
	}
	if len(x) < leastAngles {
		return math.Inf(1), math.Inf(1)
	}
	// the smoothed curve may have a constant offset from the single angles
	mid := median(slices.Clone(off))
	for i := range off {
		off[i] = math.Abs(off[i] - mid)
	}
	sd := 1.4826 * median(off) // median to standard deviation of a normal distribution
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
