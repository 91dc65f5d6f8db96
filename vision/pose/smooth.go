package pose

import (
	"math"
	"slices"

	"ecart/geometry"
)

// smoothAll gives each fine moment in the frames from..to its smoothed body, and puts
// the legs on the axes of their outlines.
func (f *Found) smoothAll(from, to int) {
	var fine []*Moment
	for i := range f.Moments {
		if m := &f.Moments[i]; m.fine && m.Frame >= from && m.Frame <= to {
			fine = append(fine, m)
		}
	}
	dropShortLegs(fine)
	for i, m := range fine {
		m.network = smoothed(fine, i)
	}
	fine = slices.DeleteFunc(fine, func(m *Moment) bool { return m.network == nil })
	followLimbs(fine)
	for _, m := range fine {
		body := *m.network
		m.smooth = &body
		for side := range 2 {
			m.legs[side] = nil
			if f.shows(m) {
				m.legs[side] = legOutline(m.picture, f.ground, f.legRoot(&body, side), body.Points[ankle+side].At, body.Points[knee+side].At)
			}
		}
	}
	for side := range 2 {
		f.fillAxes(fine, side)
	}
	var legs [2][]*Axis
	for _, m := range fine {
		for side := range 2 {
			legs[side] = append(legs[side], m.legs[side])
		}
	}
	for i, m := range fine {
		for side := range 2 {
			m.axes[side] = f.smoothedAxis(fine, legs[side], i, side)
		}
		if f.ownHips {
			m.smooth.straightenEach(m.axes)
		} else {
			m.smooth.straighten(m.axes)
		}
	}
	for side := range 2 {
		f.moveAnklesOntoShanks(fine, side)
	}
}

// moveAnklesOntoShanks moves the ankle of a leg that has no axis, as with a bent knee, onto the axis of the shank's outline.
// Along the axis it is as far from the hip as a line through all moments has it.
func (f *Found) moveAnklesOntoShanks(fine []*Moment, side int) {
	axes := make([]*Axis, len(fine))
	var x, far []float64
	for i, m := range fine {
		if !f.shows(m) {
			continue
		}
		h, k, a := f.legRoot(m.network, side), m.network.Points[knee+side].At, m.network.Points[ankle+side].At
		axes[i] = shankOutline(m.picture, f.ground, k, a, k.Sub(h).Norm()+a.Sub(k).Norm())
		if axes[i] != nil && m.Body != nil && m.support >= supported {
			u, v := axes[i].unit(), m.Body.Points[ankle+side].At.Sub(f.legRoot(m.Body, side))
			x, far = append(x, m.Time.Seconds()), append(far, u.X*v.X+u.Y*v.Y)
		}
	}
	along := fitLine(x, far)
	for i, m := range fine {
		axis := f.smoothedAxis(fine, axes, i, side)
		if m.shanks[side] = m.axes[side] == nil && axis != nil && len(x) > 0; m.shanks[side] {
			h := f.legRoot(m.smooth, side)
			m.smooth.Points[ankle+side].At = h.Add(axis.normal().Scale(axis.offset(h))).Add(axis.unit().Scale(along.at(m.Time.Seconds())))
		}
	}
}

// legRoot returns where a leg's axis begins: at its own hip where the legs open to the sides, otherwise at the middle of
// both, since in a side view the network exchanges the hips.
func (f *Found) legRoot(b *Body, side int) geometry.Point {
	if f.ownHips {
		return b.Points[hip+side].At
	}
	return b.middle(hip)
}

// dropShortLegs sets the support to 0 for bodies whose legs are much shorter than the median of
// the moments: the network at times puts both ankles near the hips, on the silhouette.
func dropShortLegs(fine []*Moment) {
	const short = 0.85 // part of the median: in a quarter of a second legs foreshorten by less
	var all []float64
	for _, m := range fine {
		if m.Body != nil {
			all = append(all, m.Body.legs())
		}
	}
	most := median(all)
	for _, m := range fine {
		if m.Body != nil && m.Body.legs() < short*most {
			m.support = 0
		}
	}
}

// legs is the sum of the lengths of both legs in the picture, px.
func (b *Body) legs() (sum float64) {
	for side := range 2 {
		h, k, a := b.Points[hip+side].At, b.Points[knee+side].At, b.Points[ankle+side].At
		sum += k.Sub(h).Norm() + a.Sub(k).Norm()
	}
	return sum
}

// fillAxes looks again for a leg's axis where none was found, along the axis of the moment
// before or after: the network's leg is wholly wrong in single frames.
func (f *Found) fillAxes(fine []*Moment, side int) {
	lookAlong := func(i, j int) {
		if i < 0 || j < 0 || i >= len(fine) || j >= len(fine) || fine[j].legs[side] != nil || fine[i].legs[side] == nil || !f.shows(fine[j]) {
			return
		}
		h := f.legRoot(fine[j].network, side)
		leg := fine[i].network.Points[ankle+side].At.Sub(f.legRoot(fine[i].network, side)).Norm()
		a := h.Add(fine[i].legs[side].unit().Scale(leg))
		fine[j].legs[side] = legOutline(fine[j].picture, f.ground, h, a, midpoint(h, a))
	}
	for i := range fine {
		lookAlong(i, i+1)
	}
	for i := len(fine) - 1; i >= 0; i-- {
		lookAlong(i, i-1)
	}
}

// around returns the part of a list with one entry a moment over which the i-th is smoothed, itself included.
func around[T any](of []T, i int) []T {
	return of[max(0, i-smoothFrames):min(len(of), i+smoothFrames+1)]
}

// shows reports whether outlines can be seen in a moment: its picture was kept, and the ground stands still.
func (f *Found) shows(m *Moment) bool { return f.Still && m.picture != nil }

// supported is the least support of a body that is used: see supportOf. With one leg wholly wrong, less
// than three quarters of both lie on the silhouette. With both right, a fifth may have the ground's
// colour.
const (
	supported   = 0.8
	leastAround = 3 // supported bodies over which places are smoothed
)

// supportOf returns the share of the legs, between hips and ankles, that lies within two pixels
// of the reduced picture of a foreground pixel, 0 to 1. It is 1 where the ground is not known,
// and 0 without a body.
func (f *Found) supportOf(b *Body, picture *reduced) float64 {
	if b == nil {
		return 0
	}
	if !f.Still || picture == nil {
		return 1
	}
	const steps, radius = 6, 2
	on, total := 0, 0
	segment := func(p, q geometry.Point) {
		for i := range steps {
			x, y := picture.place(p.Add(q.Sub(p).Scale((float64(i) + 0.5) / steps)))
			total++
			for k := range 9 {
				if differsAt(picture, f.ground, x+float64(k%3-1)*radius, y+float64(k/3-1)*radius) {
					on++
					break
				}
			}
		}
	}
	for side := range 2 {
		segment(b.Points[hip+side].At, b.Points[knee+side].At)
		segment(b.Points[knee+side].At, b.Points[ankle+side].At)
	}
	return float64(on) / float64(total)
}

// smoothed returns the body at the i-th moment, nil where none was found about it. The middle of the hips is fitted over
// time by a parabola, every other place, relative to the hips, by a straight line. Near the widest moment
// limbs turn slowly against the hips; a parabola for each would follow the places that are wrong.
func smoothed(fine []*Moment, i int) *Body {
	about, all := []*Moment{}, around(fine, i)
	all = slices.DeleteFunc(slices.Clone(all), func(m *Moment) bool { return m.Body == nil })
	if len(all) == 0 {
		return nil
	}
	nearest := slices.MinFunc(all, func(a, b *Moment) int { return abs(a.Frame-fine[i].Frame) - abs(b.Frame-fine[i].Frame) })
	body := *nearest.Body
	for _, narrow := range []bool{false, true} { // narrow squares only where there are too few others
		if len(about) < min(leastAround, len(all)) {
			about = about[:0]
			for _, m := range all {
				if m.support >= supported && (narrow || !m.Body.narrow()) {
					about = append(about, m)
				}
			}
		}
	}
	if fine[i].lost = len(about) < min(leastAround, len(all)); fine[i].lost {
		about = all
	}
	x, xs, ys := make([]float64, len(about)), make([]float64, len(about)), make([]float64, len(about))
	for j, m := range about {
		x[j] = (m.Time - fine[i].Time).Seconds()
	}
	at := func(fit func(x, y []float64) parabola, place func(*Body) geometry.Point) geometry.Point {
		for j, m := range about {
			p := place(m.Body)
			xs[j], ys[j] = p.X, p.Y
		}
		return geometry.Point{X: fit(x, xs).a, Y: fit(x, ys).a}
	}
	h := at(fitParabola, func(b *Body) geometry.Point { return b.middle(hip) })
	for k := range body.Points {
		p := at(fitLine, func(b *Body) geometry.Point {
			return geometry.Point(b.Points[k].At.Sub(b.middle(hip)))
		})
		body.Points[k].At = h.Add(geometry.Vec(p))
	}
	return &body
}

// smoothedAxis returns the axis of a leg or its shank at the i-th moment, fitted over the moments about it; nil where fewer than
// half of these, or fewer than three, have one. axes has the axis of each moment, nil where there is none.
func (f *Found) smoothedAxis(fine []*Moment, axes []*Axis, i, side int) *Axis {
	about, axes := around(fine, i), around(axes, i)
	var x, turn, across []float64
	var first geometry.Angle
	sd := 0.0
	for j, m := range about {
		a := axes[j]
		if a == nil {
			continue
		}
		if len(x) == 0 {
			first = a.Direction
		}
		x = append(x, (m.Time - fine[i].Time).Seconds())
		turn = append(turn, math.Remainder(float64(a.Direction-first), 2*math.Pi))
		across = append(across, a.offset(f.legRoot(m.network, side)))
		sd = math.Max(sd, a.SD)
	}
	if len(x) < max(3, (len(about)+1)/2) {
		return nil
	}
	t, o := fitParabola(x, turn), fitParabola(x, across)
	a := &Axis{Direction: first + geometry.Angle(t.a), SD: math.Hypot(sd, t.sd) / math.Sqrt(float64(len(x)))}
	a.On = f.legRoot(fine[i].network, side).Add(a.normal().Scale(o.a))
	return a
}

// unit and normal are unit vectors: from hip to ankle, and that turned by 90 degrees.
func (a *Axis) unit() geometry.Vec {
	sin, cos := math.Sincos(float64(a.Direction))
	return geometry.Vec{X: cos, Y: sin}
}

func (a *Axis) normal() geometry.Vec {
	u := a.unit()
	return geometry.Vec{X: -u.Y, Y: u.X}
}

// offset is the signed distance from a place to the axis, px along its normal.
func (a *Axis) offset(p geometry.Point) float64 {
	n, d := a.normal(), a.On.Sub(p)
	return n.X*d.X + n.Y*d.Y
}

// hipPull is the weight of the network's hip, where an axis has 1, when the hip is moved
// onto the axes. Legs in one line do not tell where along it the hip is.
const hipPull = 0.05

// straighten moves the legs that have an axis onto it, for a side view. The middle of the hips moves to
// the least-squares place between the axes and where it was; both hips move along. Each knee and
// ankle keeps its distance along the axis.
func (b *Body) straighten(legs [2]*Axis) {
	if legs[0] == nil && legs[1] == nil {
		return
	}
	// least squares: hipPull for the identity, and n n^T for each axis
	h := b.middle(hip)
	xx, xy, yy, rx, ry := hipPull, 0.0, hipPull, 0.0, 0.0
	for _, a := range legs {
		if a != nil {
			n, o := a.normal(), a.offset(h)
			xx, xy, yy = xx+n.X*n.X, xy+n.X*n.Y, yy+n.Y*n.Y
			rx, ry = rx+n.X*o, ry+n.Y*o
		}
	}
	d := xx*yy - xy*xy
	move := geometry.Vec{X: (yy*rx - xy*ry) / d, Y: (xx*ry - xy*rx) / d}
	for side := range 2 {
		b.Points[hip+side].At = b.Points[hip+side].At.Add(move)
	}
	h = h.Add(move)
	for side, a := range legs {
		if a == nil {
			continue
		}
		u := a.unit()
		for _, k := range []int{knee, ankle} {
			v := b.Points[k+side].At.Sub(h)
			b.Points[k+side].At = h.Add(u.Scale(u.X*v.X + u.Y*v.Y))
		}
	}
}

// straightenEach moves each hip, knee and ankle of the legs that have an axis to the nearest place on it.
func (b *Body) straightenEach(legs [2]*Axis) {
	for side, a := range legs {
		if a == nil {
			continue
		}
		for _, k := range []int{hip, knee, ankle} {
			p := &b.Points[k+side].At
			*p = p.Add(a.normal().Scale(a.offset(*p)))
		}
	}
}

// finish gives the peak its bodies and axes, and releases the pictures.
func (f *Found) finish() {
	if m, ok := f.at(f.Peak.Frame); ok {
		f.Peak.Body, f.Peak.Network, f.Peak.Legs, f.Peak.Shanks = m.smooth, m.network, m.axes, m.shanks
	}
	for i := range f.Moments {
		f.Moments[i].picture, f.Moments[i].pending = nil, nil
	}
	f.ground = nil
}
