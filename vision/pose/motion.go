package pose

import (
	"math"
	"slices"

	"ecart/geometry"
)

// motion is how a rigid part of the body moved from one picture to another: a shift of its middle, and a turn about that.
type motion struct {
	shift geometry.Vec // reduced pixels
	turn  float64      // radians
}

// turned returns a vector turned as the part did.
func (m motion) turned(v geometry.Vec) geometry.Vec {
	sin, cos := math.Sincos(m.turn)
	return geometry.Vec{X: cos*v.X - sin*v.Y, Y: sin*v.X + cos*v.Y}
}

// back returns a vector turned back.
func (m motion) back(v geometry.Vec) geometry.Vec { return motion{turn: -m.turn}.turned(v) }

// part is a rigid part of the body in one picture: the pixels about the line between its ends.
type part struct {
	middle geometry.Point // reduced pixels
	size   float64        // root mean square distance from the middle, reduced pixels
	at     []geometry.Vec // from the middle, reduced pixels
	rgb    []float64      // 3 values each
}

// partHalf is the half width of a part as a part of its length: a thigh's is 0.18, a trunk's 0.17 and an upper arm's 0.14,
// and its edges tell how it turns. Of a large part some partPixels are compared.
const (
	partHalf   = 0.2
	partPixels = 1500
)

// partBetween returns the part between two places, px. It is nil where too little of it lies in the picture.
func partBetween(picture *reduced, from, to geometry.Point) *part {
	ax, ay := picture.place(from)
	bx, by := picture.place(to)
	a, b := geometry.Point{X: ax, Y: ay}, geometry.Point{X: bx, Y: by}
	length := b.Sub(a).Norm()
	if length < 10 {
		return nil
	}
	u := b.Sub(a).Scale(1 / length)
	half := math.Max(partHalf*length, 4)
	out := &part{middle: midpoint(a, b)}
	reach := length/2 + half
	step := math.Ceil(math.Sqrt(2 * half * length / partPixels))
	for y := math.Floor(out.middle.Y - reach); y <= out.middle.Y+reach; y += step {
		for x := math.Floor(out.middle.X - reach); x <= out.middle.X+reach; x += step {
			v := geometry.Point{X: x, Y: y}.Sub(out.middle)
			along, across := v.X*u.X+v.Y*u.Y, u.X*v.Y-u.Y*v.X
			if math.Abs(along) > length/2 || math.Abs(across) > half {
				continue
			}
			value, _, ok := picture.sample(geometry.Point{X: x, Y: y}, 1)
			if !ok {
				continue
			}
			out.at = append(out.at, v)
			out.rgb = append(out.rgb, value[:]...)
			out.size += v.X*v.X + v.Y*v.Y
		}
	}
	if len(out.at) < 50 {
		return nil
	}
	out.size = math.Sqrt(out.size / float64(len(out.at)))
	return out
}

// sample interpolates the colours at a place in reduced pixels, with their gradients over reach pixels on each side. It is false
// at the picture's border.
func (r *reduced) sample(p geometry.Point, reach int) (value [3]float64, gradient [3]geometry.Vec, ok bool) {
	i, j := int(math.Floor(p.X)), int(math.Floor(p.Y))
	if i < reach || j < reach || i+1+reach >= r.width || j+1+reach >= r.height {
		return value, gradient, false
	}
	fx, fy := p.X-float64(i), p.Y-float64(j)
	at, row := 3*(j*r.width+i), 3*r.width
	dx, dy := 3*reach, row*reach
	for k := range value {
		c := r.rgb[at+k-dy-dx:]
		between := func(from int) float64 { // interpolated at an offset
			a, b := float64(c[from]), float64(c[from+3])
			d, e := float64(c[from+row]), float64(c[from+row+3])
			top := a + fx*(b-a)
			return top + fy*(d+fx*(e-d)-top)
		}
		here := dx + dy
		value[k] = between(here)
		wide := 2 * float64(reach)
		gradient[k] = geometry.Vec{X: (between(here+dx) - between(here-dx)) / wide, Y: (between(here+dy) - between(here-dy)) / wide}
	}
	return value, gradient, true
}

// find returns the motion that takes the part to where it is in another picture, from a start near it: the least squares of
// the differences of colours (Gauss and Newton), robust against what covers it. residual is the median difference of a colour,
// of 255, where every one counts by its squared gradient, since pixels far from all edges tell nothing.
func (p *part) find(in *reduced, start motion) (m motion, residual float64, ok bool) {
	const (
		rounds   = 20
		farthest = 4    // pixels from which an edge is seen in the first round: shanks and arms move by some 3 a frame
		least    = 10   // of 255: pictures differ by as much
		damped   = 1e-3 // part of the trace: keeps a limb from sliding along itself
	)
	m = start
	limit := math.Inf(1)
	for round := range rounds {
		reach := max(1, farthest-round)
		n, g := [][]float64{make([]float64, 3), make([]float64, 3), make([]float64, 3)}, make([]float64, 3)
		var differences [256]float64 // sums of squared gradients
		sin, cos := math.Sincos(m.turn)
		there := p.middle.Add(m.shift)
		outside := 0
		for i, v := range p.at {
			w := geometry.Vec{X: cos*v.X - sin*v.Y, Y: sin*v.X + cos*v.Y}
			value, gradient, inside := in.sample(there.Add(w), reach)
			if !inside {
				outside++
				continue
			}
			for k := range value {
				e := p.rgb[3*i+k] - value[k]
				j := [3]float64{gradient[k].X, gradient[k].Y, (gradient[k].Y*w.X - gradient[k].X*w.Y) / p.size}
				differences[int(math.Abs(e))] += j[0]*j[0] + j[1]*j[1]
				r := e / limit
				if r*r >= 1 {
					continue
				}
				weight := (1 - r*r) * (1 - r*r) // Tukey's
				for a := range n {
					g[a] += weight * j[a] * e
					for b := range n {
						n[a][b] += weight * j[a] * j[b]
					}
				}
			}
		}
		if 4*outside > len(p.at) {
			return m, 0, false
		}
		residual = medianOf256(&differences)
		if reach == 1 {
			limit = 4.685 * 1.4826 * math.Max(residual, least)
		}
		trace := n[0][0] + n[1][1] + n[2][2]
		for a := range n {
			n[a][a] += damped * trace
		}
		step := solve(n, g)
		m.shift = m.shift.Add(geometry.Vec{X: step[0], Y: step[1]})
		m.turn += step[2] / p.size
		if reach == 1 && math.Abs(step[0])+math.Abs(step[1])+math.Abs(step[2]) < 0.01 {
			break
		}
	}
	return m, residual, true
}

// medianOf256 returns the median of values 0 to 255 with these weights; 255 where all are 0.
func medianOf256(weights *[256]float64) float64 {
	sum, half := 0.0, 0.0
	for _, w := range weights {
		half += w / 2
	}
	for v, w := range weights {
		if sum += w; sum >= half && sum > 0 {
			return float64(v)
		}
	}
	return 255
}

// limb is a part of the body in several moments.
type limb struct {
	middles []geometry.Point // of the part in each moment, px
	motions []*motion        // to each moment from the middle one; nil where the part is not found
}

// limbBetween finds the part between two places, px of the middle moment, in the moments about that, as far as it can be followed;
// nil where the picture does not hold it.
func limbBetween(fine []*Moment, from, to geometry.Point) *limb {
	// mostResidual is the limit of the residual, of 255. In leaps and handstands it was 1 to 17 where the turn was right to a degree,
	// and 40 to 60 where it was lost.
	const mostResidual = 30
	first := len(fine) / 2
	picture := fine[first].picture
	p := partBetween(picture, from, to)
	if p == nil {
		return nil
	}
	l := &limb{make([]geometry.Point, len(fine)), make([]*motion, len(fine))}
	l.motions[first], l.middles[first] = &motion{}, picture.original(p.middle.X, p.middle.Y)
	for _, step := range []int{1, -1} {
		for i := first + step; i >= 0 && i < len(fine); i += step {
			m, residual, ok := p.find(fine[i].picture, *l.motions[i-step])
			if !ok || residual > mostResidual {
				break
			}
			at := p.middle.Add(m.shift)
			l.motions[i], l.middles[i] = &m, picture.original(at.X, at.Y)
		}
	}
	return l
}

// mean returns the mean of a vector of the network's bodies, turned back into the middle moment, and the larger standard
// deviation of its coordinates.
func (l *limb) mean(fine []*Moment, vector func(i int, b *Body) geometry.Vec) (v geometry.Vec, sd float64) {
	var x, xs, ys []float64
	for i, m := range fine {
		if m.Body != nil && m.support >= supported && l.motions[i] != nil {
			v := l.motions[i].back(vector(i, m.Body))
			x, xs, ys = append(x, 0), append(xs, v.X), append(ys, v.Y)
		}
	}
	if len(x) == 0 {
		return v, math.Inf(1)
	}
	px, py := fitRobust(x, xs, 1), fitRobust(x, ys, 1)
	return geometry.Vec{X: px.a, Y: py.a}, math.Max(px.sd, py.sd)
}

// trunkJoints are the points that lie in the trunk.
var trunkJoints = []int{hip, hip + 1, shoulder, shoulder + 1}

// followLimbs moves the trunk and the arms of the smoothed bodies as the pixels of these parts move. The network is wrong by some
// degrees that change over ten looks, and the widest moment with them. Where hips and shoulders lie in the trunk, and elbows and
// wrists beside the shoulders, is the mean over all its looks. Nothing is followed where the trunk is found in half of the moments or
// fewer, and an arm only where it is found in as many as the trunk.
func followLimbs(fine []*Moment) {
	const mostScatter = 0.05 // of a place by the network, part of the body's length: it is 0.02 where the trunk is followed rightly
	for _, m := range fine {
		m.followed, m.arms = false, [2]bool{}
	}
	if len(fine) < leastAngles {
		return
	}
	b := fine[len(fine)/2].network
	trunk := limbBetween(fine, b.middle(hip), b.middle(shoulder))
	if trunk == nil {
		return
	}
	found := 0
	for _, m := range trunk.motions {
		if m != nil {
			found++
		}
	}
	if 2*found <= len(fine) {
		return
	}
	var places [4]geometry.Vec
	for j, k := range trunkJoints {
		v, sd := trunk.mean(fine, func(i int, b *Body) geometry.Vec { return b.Points[k].At.Sub(trunk.middles[i]) })
		if sd > mostScatter*b.length() {
			return
		}
		places[j] = v
	}
	arms := [2]*limb{}
	for side := range arms {
		arms[side] = limbBetween(fine, b.Points[shoulder+side].At, b.Points[wrist+side].At)
	}
	for i, m := range fine {
		if trunk.motions[i] == nil {
			continue
		}
		m.followed = true
		old := m.network.middle(hip)
		for j, k := range trunkJoints {
			m.network.Points[k].At = trunk.middles[i].Add(trunk.motions[i].turned(places[j]))
		}
		shift := m.network.middle(hip).Sub(old)
		for k := range m.network.Points {
			if !slices.Contains(trunkJoints, k) {
				m.network.Points[k].At = m.network.Points[k].At.Add(shift)
			}
		}
	}
	for side, arm := range arms {
		if arm == nil || slices.ContainsFunc(fine, func(m *Moment) bool { return m.followed && arm.motions[slices.Index(fine, m)] == nil }) {
			continue
		}
		for _, k := range []int{elbow + side, wrist + side} {
			v, _ := arm.mean(fine, func(_ int, b *Body) geometry.Vec { return b.Points[k].At.Sub(b.Points[shoulder+side].At) })
			for i, m := range fine {
				if m.arms[side] = m.followed; m.followed {
					m.network.Points[k].At = m.network.Points[shoulder+side].At.Add(arm.motions[i].turned(v))
				}
			}
		}
	}
}

// partlyFollowed returns the network's body of a single frame, with the places that come from the pixels of it instead.
func (m *Moment) partlyFollowed() *Body {
	if !m.followed {
		return m.Body
	}
	b := *m.smooth
	shift := b.middle(hip).Sub(m.Body.middle(hip))
	for k := range b.Points {
		side := 1 - k%2 // left points have odd indices
		switch known := slices.Contains(trunkJoints, k); {
		case known:
		case (k == elbow+side || k == wrist+side) && m.arms[side]:
		case k == ankle+side && (m.shanks[side] || m.axes[side] != nil):
		default:
			b.Points[k].At = m.Body.Points[k].At.Add(shift)
		}
	}
	return &b
}
